DROP TABLE accounting_references;
