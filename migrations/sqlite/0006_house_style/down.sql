DROP TABLE house_styles;
