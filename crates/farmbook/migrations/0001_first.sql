-- One farm's records. Every table but kept, change and entry is journaled row by row.
-- Lengths are metres, areas square metres; everything else says its unit in its name.

CREATE TABLE change (
  id      INTEGER PRIMARY KEY AUTOINCREMENT,
  at      TEXT    NOT NULL,               -- RFC 3339 with offset
  who     TEXT    NOT NULL,
  what    TEXT    NOT NULL,               -- in words
  kind    TEXT    NOT NULL CHECK (kind IN ('start', 'do', 'undo', 'redo')),
  target  INTEGER REFERENCES change (id), -- the change undone or done again
  state   TEXT    NOT NULL CHECK (state IN ('live', 'undone', 'abandoned')),
  layout  INTEGER NOT NULL                -- user_version when it was written
) STRICT;
-- Both steps, back and forward, look up the newest or oldest change of one state.
CREATE INDEX change_by_state ON change (kind, state, id);

CREATE TABLE entry (
  id        INTEGER PRIMARY KEY AUTOINCREMENT,
  change_id INTEGER NOT NULL REFERENCES change (id),
  tbl       TEXT    NOT NULL,
  row_id    INTEGER NOT NULL,
  before    TEXT,                         -- JSON of the whole row; NULL: there was none
  after     TEXT,                         -- JSON of the whole row; NULL: there is none
  CHECK (before IS NOT NULL OR after IS NOT NULL)
) STRICT;
CREATE INDEX entry_by_change ON entry (change_id, id);
CREATE INDEX entry_by_row ON entry (tbl, row_id, id);

-- Bytes kept as they came, under their SHA-256. Never changed and never removed, so that a report
-- taken out of the book can come back with an undo.
CREATE TABLE kept (
  sha256 TEXT PRIMARY KEY,
  bytes  BLOB NOT NULL
) STRICT, WITHOUT ROWID;

CREATE TABLE farm (
  id       INTEGER PRIMARY KEY CHECK (id = 1),
  name     TEXT    NOT NULL,
  organic  INTEGER NOT NULL,
  currency TEXT    NOT NULL,
  season   INTEGER NOT NULL,
  region   TEXT    NOT NULL
) STRICT;

CREATE TABLE block (
  id        INTEGER PRIMARY KEY AUTOINCREMENT,
  name      TEXT    NOT NULL,
  name_key  TEXT    NOT NULL,             -- lower case, for uniqueness in any alphabet
  kind      TEXT    NOT NULL,
  shape     TEXT    NOT NULL,             -- JSON
  texture   TEXT,
  depth_in  REAL    NOT NULL,
  free_lime INTEGER,
  aliases   TEXT    NOT NULL,             -- JSON list of names on boxes
  note      TEXT    NOT NULL,
  archived  INTEGER NOT NULL
) STRICT;
CREATE UNIQUE INDEX block_by_name ON block (name_key) WHERE archived = 0;

CREATE TABLE planting (
  id                INTEGER PRIMARY KEY AUTOINCREMENT,
  block_id          INTEGER NOT NULL REFERENCES block (id),
  season            INTEGER NOT NULL,
  crop              TEXT    NOT NULL,
  yield_lb_per_acre REAL,
  plant_on          TEXT,
  harvest_on        TEXT,
  target_ph         REAL,
  credits           TEXT    NOT NULL,     -- JSON
  UNIQUE (season, block_id)
) STRICT;
CREATE INDEX planting_by_block ON planting (block_id);

CREATE TABLE report (
  id          INTEGER PRIMARY KEY AUTOINCREMENT,
  file_name   TEXT    NOT NULL,
  sha256      TEXT    NOT NULL UNIQUE REFERENCES kept (sha256),
  bytes       INTEGER NOT NULL,
  received_at TEXT    NOT NULL,
  lab         TEXT,
  layout      TEXT,                       -- JSON: how the columns were read
  sampled_on  TEXT,
  status      TEXT    NOT NULL
) STRICT;

CREATE TABLE soil_test (
  id         INTEGER PRIMARY KEY AUTOINCREMENT,
  report_id  INTEGER NOT NULL REFERENCES report (id),
  sample     TEXT    NOT NULL,
  line       INTEGER,                     -- row of the file
  block_id   INTEGER REFERENCES block (id),
  test       TEXT    NOT NULL,            -- JSON
  sampled_on TEXT
) STRICT;
CREATE INDEX soil_test_by_report ON soil_test (report_id);
-- Wide enough to find each block's newest test without reading the tests themselves.
CREATE INDEX soil_test_by_block ON soil_test (block_id, sampled_on, report_id);

CREATE TABLE lab_layout (
  id           INTEGER PRIMARY KEY AUTOINCREMENT,
  fingerprint  TEXT NOT NULL UNIQUE,
  lab          TEXT NOT NULL,
  layout       TEXT NOT NULL,             -- JSON
  confirmed_at TEXT NOT NULL
) STRICT;

CREATE TABLE material_choice (
  id                INTEGER PRIMARY KEY AUTOINCREMENT,
  material          TEXT    NOT NULL UNIQUE,
  use_it            INTEGER NOT NULL,
  packs             TEXT    NOT NULL,     -- JSON
  stock_lb          REAL    NOT NULL,
  analysis_override TEXT,                 -- JSON
  refused_on        TEXT    NOT NULL,     -- JSON list of block ids
  note              TEXT    NOT NULL
) STRICT;

CREATE TABLE season_plan (
  id             INTEGER PRIMARY KEY AUTOINCREMENT,
  season         INTEGER NOT NULL,
  made_at        TEXT    NOT NULL,
  problem_sha256 TEXT    NOT NULL REFERENCES kept (sha256),
  plan_sha256    TEXT    NOT NULL REFERENCES kept (sha256),
  inputs_hash    TEXT    NOT NULL,
  locks          TEXT    NOT NULL         -- JSON
) STRICT;
CREATE INDEX season_plan_by_season ON season_plan (season, id);

CREATE TABLE plan_lock (
  id       INTEGER PRIMARY KEY AUTOINCREMENT,
  season   INTEGER NOT NULL,
  block_id INTEGER NOT NULL REFERENCES block (id),
  material TEXT    NOT NULL,
  lb       REAL    NOT NULL,
  UNIQUE (season, block_id, material)
) STRICT;
CREATE INDEX plan_lock_by_block ON plan_lock (block_id);
