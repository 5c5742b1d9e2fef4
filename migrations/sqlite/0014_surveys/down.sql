DROP TABLE surveys;
