-- Tables that the grower added: their state's limits, as the files came.
CREATE TABLE own_table (
  id       INTEGER PRIMARY KEY AUTOINCREMENT,
  name     TEXT NOT NULL UNIQUE,          -- the table's own id
  kind     TEXT NOT NULL,                 -- what the files are, e.g. readings
  files    TEXT NOT NULL,                 -- JSON: file name to text
  added_at TEXT NOT NULL
) STRICT;

-- How many cores go into one sample of the block; NULL: not said.
ALTER TABLE block ADD COLUMN cores INTEGER;
