DROP TRIGGER quotes_survey_kept;
DROP INDEX quotes_of_survey;
ALTER TABLE quotes DROP COLUMN survey_id;
