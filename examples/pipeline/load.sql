-- Loads the lines of pipeline, from results.jsonl in the working folder, into tables:
--
--	sqlite3 shelf.db ".read examples/pipeline/load.sql"
--
-- Again, it loads anew. The last line of a session is the one that holds.
DROP TABLE IF EXISTS line;
CREATE TABLE line (json TEXT NOT NULL);
-- No character of a line is the one that columns are told apart by here.
.mode ascii
.separator "\037" "\n"
.import results.jsonl line

DROP TABLE IF EXISTS latest;
CREATE TABLE latest AS
	SELECT json_extract(json, '$.session') AS session, json_extract(json, '$.error') AS error,
		json_extract(json, '$.results') AS results, max(rowid) AS at
	FROM line GROUP BY 1;

DROP TABLE IF EXISTS failed;
CREATE TABLE failed AS SELECT session, error FROM latest WHERE error IS NOT NULL;

-- One row a pair. What is not known is NULL.
DROP TABLE IF EXISTS pair;
CREATE TABLE pair AS
	SELECT session, json_extract(results, '$.headphones.name') AS name, json_extract(results, '$.headphones.kind') AS kind,
		json_extract(results, '$.rig.name') AS rig, json_extract(results, '$.target.name') AS target,
		json_extract(results, '$.deviation.mean.rms.value') AS rms_db,
		json_extract(results, '$.deviation.mean.rms.low_95') AS rms_low_db,
		json_extract(results, '$.deviation.mean.rms.high_95') AS rms_high_db,
		json_extract(results, '$.deviation.mean.tilt.value') AS tilt_db_per_octave,
		json_extract(results, '$.deviation.mean.share_within_tolerance.value') AS share_within,
		json_extract(results, '$.sound.per_milliwatt.value') AS db_spl_per_mw,
		json_extract(results, '$.impedance.at_1_khz.value') AS ohm_at_1_khz
	FROM latest WHERE error IS NULL;

-- Total harmonic distortion by side and fundamental.
DROP TABLE IF EXISTS distortion;
CREATE TABLE distortion AS
	SELECT session, side.key AS side, json_extract(thd.value, '$.fundamental_hz') AS hz,
		json_extract(thd.value, '$.percent.value') AS percent, json_extract(thd.value, '$.at_most_percent') AS at_most_percent
	FROM latest, json_each(results, '$.distortion') AS side, json_each(side.value, '$.thd_of_seatings') AS thd
	WHERE error IS NULL;

DROP TABLE IF EXISTS use;
CREATE TABLE use AS
	SELECT session, json_extract(value, '$.use') AS use, json_extract(value, '$.answer') AS answer
	FROM latest, json_each(results, '$.uses') WHERE error IS NULL;

DROP TABLE IF EXISTS claim;
CREATE TABLE claim AS
	SELECT session, json_extract(value, '$.claim') AS claim, json_extract(value, '$.outcome') AS outcome,
		json_extract(value, '$.reason') AS reason
	FROM latest, json_each(results, '$.claims') WHERE error IS NULL;

DROP TABLE IF EXISTS finding;
CREATE TABLE finding AS
	SELECT session, json_extract(value, '$.recording') AS recording, json_extract(value, '$.kind') AS kind,
		json_extract(value, '$.severity') AS severity, json_extract(value, '$.what') AS what
	FROM latest, json_each(results, '$.findings') WHERE error IS NULL;

DROP TABLE line;
DROP TABLE latest;
CREATE INDEX distortion_hz ON distortion (hz);
VACUUM;
