DROP TABLE price_list_rows;
DROP TABLE price_lists;
DROP TABLE price_list_mappings;
ALTER TABLE policies DROP COLUMN valid_from;
