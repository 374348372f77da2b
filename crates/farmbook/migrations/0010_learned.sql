-- What the grower decided of a block's own answer, as its tests tell it. Without a row the program's own
-- rule holds.
CREATE TABLE learned_choice (
  id         INTEGER PRIMARY KEY AUTOINCREMENT,
  block_id   INTEGER NOT NULL REFERENCES block (id),
  item       TEXT    NOT NULL,            -- lime, p2o5, k2o
  take       INTEGER NOT NULL,            -- 1: needs go by the block's own answer; 0: by the published one
  decided_on TEXT    NOT NULL,
  UNIQUE (block_id, item)
) STRICT;
