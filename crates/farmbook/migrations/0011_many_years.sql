-- Twenty years of a thousand blocks: what was spread is summed by lot and day, and entries are found by
-- season and by day, without reading the rest.
DROP INDEX spread_by_material;
DROP INDEX spread_by_block;
CREATE INDEX spread_by_block ON spread (block_id, material, day, weight);
CREATE INDEX spread_by_lot ON spread (material, lot, day, weight);
DROP INDEX soil_test_by_report;
CREATE INDEX soil_test_by_report ON soil_test (report_id, block_id);
CREATE INDEX spread_by_day ON spread (day);
CREATE INDEX harvest_by_season ON harvest (season, day);
CREATE INDEX harvest_by_day ON harvest (day);
