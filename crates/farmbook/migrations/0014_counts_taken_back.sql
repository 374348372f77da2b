-- A count of nothing is a count, so one that only takes another back says so itself.
ALTER TABLE stock_count ADD COLUMN takes_back INTEGER NOT NULL DEFAULT 0 CHECK (takes_back IN (0, 1));
