DROP TABLE rulebook_drafts;
DROP TABLE rulebook_retirements;
DROP TABLE rulebook_calendar;
