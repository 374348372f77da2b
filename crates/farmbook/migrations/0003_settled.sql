-- What a person decided of a doubtful value of a report.
CREATE TABLE settled (
  id         INTEGER PRIMARY KEY AUTOINCREMENT,
  report_id  INTEGER NOT NULL REFERENCES report (id),
  key        TEXT NOT NULL,               -- which doubt: kind, sample and analyte
  asked      TEXT NOT NULL,               -- the sentence it was asked with
  decision   TEXT NOT NULL,               -- JSON
  settled_at TEXT NOT NULL,
  UNIQUE (report_id, key)
) STRICT;
