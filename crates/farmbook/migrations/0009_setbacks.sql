-- How far the grower keeps what is spread from what stands on the map.
CREATE TABLE setback (
  id        INTEGER PRIMARY KEY AUTOINCREMENT,
  kind      TEXT    NOT NULL,             -- of what stands on the map, as in map_mark
  class     TEXT    NOT NULL,             -- of the material: manure, compost, fertilizer, lime, ash
  metres    REAL    NOT NULL,
  local     INTEGER NOT NULL,             -- 1 where the rule of the place says so: it holds even where a published one is larger
  UNIQUE (kind, class)
) STRICT;
