-- The year from which an outline holds, and spots in it where no core is taken.
ALTER TABLE block_outline ADD COLUMN since INTEGER;
ALTER TABLE block_outline ADD COLUMN leave_out TEXT NOT NULL DEFAULT '[]'; -- JSON: places with a radius

-- How a block lay before.
CREATE TABLE earlier_outline (
  id        INTEGER PRIMARY KEY AUTOINCREMENT,
  block_id  INTEGER NOT NULL REFERENCES block (id),
  outline   TEXT    NOT NULL,             -- JSON, as in block_outline
  since     INTEGER,                      -- the first year it held; none where nobody said
  until     INTEGER NOT NULL              -- the first year it did not hold any more
) STRICT;
CREATE INDEX earlier_outline_block ON earlier_outline (block_id);

-- From which ground a block was cut or laid together.
CREATE TABLE block_parent (
  id        INTEGER PRIMARY KEY AUTOINCREMENT,
  block_id  INTEGER NOT NULL REFERENCES block (id),
  parent_id INTEGER NOT NULL REFERENCES block (id),
  year      INTEGER NOT NULL,             -- the first year of the new block
  UNIQUE (block_id, parent_id)
) STRICT;
CREATE INDEX block_parent_parent ON block_parent (parent_id);

-- What stands on the farm beside its blocks.
CREATE TABLE map_mark (
  id        INTEGER PRIMARY KEY AUTOINCREMENT,
  kind      TEXT    NOT NULL,             -- well, water, road, fence, building, tree, other
  name      TEXT    NOT NULL,
  mark      TEXT    NOT NULL              -- JSON: a point, a line or an area
) STRICT;

-- A photo or scan under the map; its bytes are kept under their SHA-256.
CREATE TABLE map_picture (
  id        INTEGER PRIMARY KEY CHECK (id = 1),
  file_name TEXT    NOT NULL,
  sha256    TEXT    NOT NULL,
  place     TEXT    NOT NULL              -- JSON: where it lies
) STRICT;
