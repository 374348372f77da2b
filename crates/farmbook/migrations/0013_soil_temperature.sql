-- The soil's temperature as the grower measured or expects it, for the days of spreading and for nitrogen
-- week by week.
CREATE TABLE soil_temperature (
  id         INTEGER PRIMARY KEY AUTOINCREMENT,
  place      TEXT    NOT NULL,            -- open, cover
  at         TEXT    NOT NULL,            -- a day, or w12 for the twelfth week of every year
  celsius    REAL    NOT NULL,
  UNIQUE (place, at)
) STRICT;
