-- A box from the plan of the sampling to its results. Boxes written down before this step had been
-- filled by then.
ALTER TABLE sample_box ADD COLUMN parts TEXT NOT NULL DEFAULT '[]';  -- JSON: the blocks in it with their cores
ALTER TABLE sample_box ADD COLUMN tests TEXT NOT NULL DEFAULT '[]';  -- JSON: what the lab is asked for
ALTER TABLE sample_box ADD COLUMN filled_on TEXT;                    -- to fill while there is none
ALTER TABLE sample_box ADD COLUMN received_on TEXT;                  -- when the lab said that it is there
UPDATE sample_box SET filled_on = coalesce(
  (SELECT min(substr(c.at, 1, 10)) FROM entry e JOIN change c ON c.id = e.change_id
   WHERE e.tbl = 'sample_box' AND e.row_id = sample_box.id AND e.before IS NULL),
  sent_on);

-- What the grower knows of a block's ground that no test tells.
CREATE TABLE ground_note (
  id         INTEGER PRIMARY KEY AUTOINCREMENT,
  block_id   INTEGER NOT NULL UNIQUE REFERENCES block (id),
  soil       TEXT    NOT NULL,            -- what the soil is called here; blocks of one name are one soil
  old_ground INTEGER NOT NULL,            -- an old orchard, a house or a road stood here or near
  limed_on   TEXT,
  manured_on TEXT
) STRICT;

-- What the lab asks for each test.
CREATE TABLE lab_fee (
  id   INTEGER PRIMARY KEY AUTOINCREMENT,
  test TEXT NOT NULL UNIQUE,
  fee  REAL NOT NULL
) STRICT;
