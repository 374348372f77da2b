-- How a compost was made, so that it is told whether it stands as compost or counts as raw manure.
CREATE TABLE compost_made (
  id         INTEGER PRIMARY KEY AUTOINCREMENT,
  material   TEXT    NOT NULL,
  lot        TEXT    NOT NULL,            -- empty: what holds for the farm where no lot says otherwise
  way        TEXT    NOT NULL,            -- aerated, windrow, not_hot, plants
  c_to_n     REAL,                        -- of the mix at the start, 30 for 30 : 1
  days_hot   INTEGER,                     -- at 131 to 170 °F
  turned     INTEGER,                     -- times in those days
  paper      TEXT    NOT NULL,            -- where it is
  UNIQUE (material, lot)
) STRICT;
