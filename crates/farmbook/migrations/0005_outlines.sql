-- Where a block lies: one outline each.
CREATE TABLE block_outline (
  id        INTEGER PRIMARY KEY AUTOINCREMENT,
  block_id  INTEGER NOT NULL UNIQUE REFERENCES block (id),
  outline   TEXT    NOT NULL,             -- JSON: rings, in degrees or on a plain grid
  file_name TEXT    NOT NULL,             -- the file it came from
  bearing   REAL                          -- direction of the beds, degrees clockwise from north; along the block while there is none
) STRICT;
