-- Who delivers, and at what charge.
CREATE TABLE supplier (
  id        INTEGER PRIMARY KEY AUTOINCREMENT,
  name      TEXT    NOT NULL UNIQUE,
  delivery  REAL    NOT NULL,             -- money, once an order
  free_from REAL,                         -- an order of this much comes free
  lead_days INTEGER,                      -- from order to delivery
  note      TEXT    NOT NULL
) STRICT;

-- How the grower wants one season planned.
CREATE TABLE season_wish (
  id     INTEGER PRIMARY KEY AUTOINCREMENT,
  season INTEGER NOT NULL UNIQUE,
  wish   TEXT    NOT NULL                 -- JSON
) STRICT;

-- What is on hand, lot by lot.
ALTER TABLE material_choice ADD COLUMN lots TEXT NOT NULL DEFAULT '[]';  -- JSON

-- Amounts are held by pass; one that was held before there were passes has none.
CREATE TABLE plan_lock_by_pass (
  id       INTEGER PRIMARY KEY AUTOINCREMENT,
  season   INTEGER NOT NULL,
  block_id INTEGER NOT NULL REFERENCES block (id),
  material TEXT    NOT NULL,
  pass     TEXT    NOT NULL DEFAULT '',
  lb       REAL    NOT NULL,
  UNIQUE (season, block_id, material, pass)
) STRICT;
INSERT INTO plan_lock_by_pass (id, season, block_id, material, lb)
  SELECT id, season, block_id, material, lb FROM plan_lock;
UPDATE sqlite_sequence SET seq = (SELECT seq FROM sqlite_sequence WHERE name = 'plan_lock')
  WHERE name = 'plan_lock_by_pass' AND EXISTS (SELECT 1 FROM sqlite_sequence WHERE name = 'plan_lock');
DROP TABLE plan_lock;
ALTER TABLE plan_lock_by_pass RENAME TO plan_lock;
CREATE INDEX plan_lock_by_block ON plan_lock (block_id);

-- The boxes of soil that go to a lab.
CREATE TABLE sample_box (
  id        INTEGER PRIMARY KEY AUTOINCREMENT,
  block_id  INTEGER NOT NULL REFERENCES block (id),
  label     TEXT    NOT NULL,             -- as written on the box
  sent_on   TEXT,                         -- not sent while there is none
  report_id INTEGER REFERENCES report (id) -- the report that answers it
) STRICT;
CREATE INDEX sample_box_by_block ON sample_box (block_id);
CREATE INDEX sample_box_by_report ON sample_box (report_id);
