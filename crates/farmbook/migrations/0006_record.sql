-- A file that belongs to the record: a delivery note, a bill, a certificate. Its bytes are in kept.
CREATE TABLE paper (
  id          INTEGER PRIMARY KEY AUTOINCREMENT,
  file_name   TEXT    NOT NULL,
  sha256      TEXT    NOT NULL UNIQUE REFERENCES kept (sha256),
  bytes       INTEGER NOT NULL,
  received_at TEXT    NOT NULL            -- RFC 3339 with offset
) STRICT;

-- What was ordered. Weights here and below are whole hundredths of an ounce, money whole cents.
CREATE TABLE placed_order (
  id        INTEGER PRIMARY KEY AUTOINCREMENT,
  mark      TEXT    NOT NULL UNIQUE,      -- UUID, made before it was sent
  at        TEXT    NOT NULL,             -- written down; RFC 3339 with offset
  day       TEXT    NOT NULL,
  season    INTEGER NOT NULL,
  supplier  TEXT    NOT NULL,             -- by name: the record outlives the list of suppliers
  lines     TEXT    NOT NULL,             -- JSON
  needed_by TEXT,
  closed_on TEXT,                         -- what had not come by then will not come
  note      TEXT    NOT NULL
) STRICT;

-- What came in.
CREATE TABLE arrival (
  id       INTEGER PRIMARY KEY AUTOINCREMENT,
  mark     TEXT    NOT NULL UNIQUE,
  at       TEXT    NOT NULL,
  day      TEXT    NOT NULL,
  supplier TEXT    NOT NULL,
  order_id INTEGER REFERENCES placed_order (id),
  material TEXT    NOT NULL,
  lot      TEXT    NOT NULL,              -- as printed on the bag; empty where none is
  weight   INTEGER NOT NULL,
  packs    TEXT    NOT NULL,              -- in words, as on the paper: 12 × 50 lb bag
  paid     INTEGER,
  paper_id INTEGER REFERENCES paper (id),
  note     TEXT    NOT NULL,
  corrects INTEGER UNIQUE REFERENCES arrival (id)
) STRICT;
CREATE INDEX arrival_by_material ON arrival (material, day);
CREATE INDEX arrival_by_order ON arrival (order_id);
CREATE INDEX arrival_by_paper ON arrival (paper_id);

-- What was really spread. Nothing is overwritten: a correction stands beside what it corrects.
CREATE TABLE spread (
  id       INTEGER PRIMARY KEY AUTOINCREMENT,
  mark     TEXT    NOT NULL UNIQUE,
  at       TEXT    NOT NULL,
  season   INTEGER NOT NULL,              -- the crop year it is for
  day      TEXT    NOT NULL,
  block_id INTEGER NOT NULL REFERENCES block (id),
  beds     TEXT    NOT NULL,              -- in words; empty for the whole block
  material TEXT    NOT NULL,
  weight   INTEGER NOT NULL,
  lot      TEXT    NOT NULL,
  pass     TEXT    NOT NULL,              -- empty where it belongs to none
  plan_id  INTEGER REFERENCES season_plan (id),
  how      TEXT    NOT NULL,              -- as_planned, partly, differently, extra
  person   TEXT    NOT NULL,
  weather  TEXT    NOT NULL,
  spreader TEXT    NOT NULL,
  note     TEXT    NOT NULL,
  corrects INTEGER UNIQUE REFERENCES spread (id)
) STRICT;
CREATE INDEX spread_by_block ON spread (block_id, day);
CREATE INDEX spread_by_season ON spread (season, day);
CREATE INDEX spread_by_material ON spread (material, day);
CREATE INDEX spread_by_plan ON spread (plan_id);

-- What was carried off.
CREATE TABLE harvest (
  id       INTEGER PRIMARY KEY AUTOINCREMENT,
  mark     TEXT    NOT NULL UNIQUE,
  at       TEXT    NOT NULL,
  season   INTEGER NOT NULL,
  day      TEXT    NOT NULL,
  block_id INTEGER NOT NULL REFERENCES block (id),
  crop     TEXT    NOT NULL,              -- key of the crop table; empty where unknown
  count    REAL    NOT NULL,              -- as it was counted
  unit     TEXT    NOT NULL,              -- lb, kg, or boxes and the like
  weight   INTEGER NOT NULL,
  person   TEXT    NOT NULL,
  note     TEXT    NOT NULL,
  corrects INTEGER UNIQUE REFERENCES harvest (id)
) STRICT;
CREATE INDEX harvest_by_block ON harvest (block_id, day);

-- What was found in the shed when somebody weighed it.
CREATE TABLE stock_count (
  id       INTEGER PRIMARY KEY AUTOINCREMENT,
  mark     TEXT    NOT NULL UNIQUE,
  at       TEXT    NOT NULL,
  day      TEXT    NOT NULL,
  material TEXT    NOT NULL,
  lot      TEXT    NOT NULL,
  weight   INTEGER NOT NULL,
  note     TEXT    NOT NULL,
  corrects INTEGER UNIQUE REFERENCES stock_count (id)
) STRICT;
CREATE INDEX stock_count_by_material ON stock_count (material, day);

-- A walk that told how much a spreader lays down.
CREATE TABLE spreader_walk (
  id       INTEGER PRIMARY KEY AUTOINCREMENT,
  spreader TEXT    NOT NULL,
  material TEXT    NOT NULL,
  setting  TEXT    NOT NULL,              -- as marked on the spreader
  day      TEXT    NOT NULL,
  walk     TEXT    NOT NULL,              -- JSON: what was measured
  note     TEXT    NOT NULL
) STRICT;
CREATE INDEX spreader_walk_by_material ON spreader_walk (material, spreader);

-- The buckets the crew owns, and what a full one weighs of a material.
CREATE TABLE bucket (
  id          INTEGER PRIMARY KEY AUTOINCREMENT,
  material    TEXT    NOT NULL UNIQUE,    -- empty for the one the crew uses
  gallons     REAL    NOT NULL,
  weight      INTEGER,                    -- a full one, weighed
  measured_on TEXT
) STRICT;
