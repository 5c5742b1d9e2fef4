-- The survey that a quote comes from, where it comes from one.

ALTER TABLE quotes ADD COLUMN survey_id TEXT COLLATE "C" REFERENCES surveys (id);
CREATE INDEX quotes_of_survey ON quotes (survey_id, year, counter) WHERE survey_id IS NOT NULL;

CREATE TRIGGER quotes_survey_kept BEFORE UPDATE ON quotes FOR EACH ROW
    WHEN (NEW.survey_id IS DISTINCT FROM OLD.survey_id)
    EXECUTE FUNCTION kept_row();
