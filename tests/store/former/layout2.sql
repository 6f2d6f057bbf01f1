-- A store of layout 2: the files beside this script, loaded in the order of STEPS in test_store_migrations.py by
-- the last version that wrote that layout. Comments of tables and columns are left out. Run in an empty DuckDB file.
CREATE SCHEMA kept;
CREATE SCHEMA meta;
CREATE TABLE kept.club (
    club VARCHAR NOT NULL, name VARCHAR NOT NULL, region VARCHAR, contact VARCHAR, note VARCHAR, load_id
    BIGINT NOT NULL, line BIGINT NOT NULL, written VARCHAR, ended_by BIGINT, ended_as VARCHAR
);
INSERT INTO kept.club (club, name, region, load_id, line)
    VALUES ('ALD', 'Alder Brook Bowls Club', 'Ostershire', 1, 2);
CREATE TABLE kept.green (
    green VARCHAR NOT NULL, club VARCHAR NOT NULL, name VARCHAR, area_m2 DOUBLE, length_m DOUBLE, width_m
    DOUBLE, shape VARCHAR, construction VARCHAR, gravel VARCHAR, grasses VARCHAR, laid_on DATE, closed_on
    DATE, latitude_deg DOUBLE, station VARCHAR, aliases VARCHAR, note VARCHAR, load_id BIGINT NOT NULL, line
    BIGINT NOT NULL, written VARCHAR, ended_by BIGINT, ended_as VARCHAR
);
INSERT INTO kept.green (green, club, name, area_m2, shape, load_id, line, ended_by, ended_as)
    VALUES ('ALD-1', 'ALD', 'Main green', 1600.0, 'flat', 2, 2, 9, 'replaced');
INSERT INTO kept.green (green, club, name, area_m2, shape, load_id, line)
    VALUES ('ALD-2', 'ALD', 'Upper green', 1500.0, 'flat', 2, 3);
INSERT INTO kept.green (green, club, name, area_m2, shape, load_id, line)
    VALUES ('ALD-1', 'ALD', 'Main green', 1610.0, 'flat', 9, 2);
CREATE TABLE kept.green_speed (
    date DATE NOT NULL, green VARCHAR NOT NULL, rink VARCHAR, direction VARCHAR, device VARCHAR, value DOUBLE,
    unit VARCHAR NOT NULL, distance_m DOUBLE, hours_since_cut DOUBLE, cut_height_mm DOUBLE, observer VARCHAR,
    note VARCHAR, load_id BIGINT NOT NULL, line BIGINT NOT NULL, written VARCHAR, ended_by BIGINT, ended_as
    VARCHAR
);
CREATE TABLE kept.job (
    date DATE NOT NULL, green VARCHAR NOT NULL, operation VARCHAR NOT NULL, material VARCHAR, reference
    VARCHAR, logged_by VARCHAR, passes DOUBLE, depth_mm DOUBLE, tine_mm DOUBLE, tine_basis VARCHAR,
    tine_wall_mm DOUBLE, spacing_along_mm DOUBLE, spacing_across_mm DOUBLE, holes DOUBLE, blade_mm DOUBLE,
    blade_spacing_mm DOUBLE, cut_height_mm DOUBLE, mass_kg DOUBLE, volume_l DOUBLE, packs DOUBLE, rate_g_m2
    DOUBLE, rate_ml_m2 DOUBLE, treated_area_m2 DOUBLE, tray_g DOUBLE, tray_cm2 DOUBLE, clippings_g_m2 DOUBLE,
    debris_l DOUBLE, debris_kg DOUBLE, hours DOUBLE, people BIGINT, vibration_m_s2 DOUBLE, trigger_hours
    DOUBLE, cost DOUBLE, note VARCHAR, load_id BIGINT NOT NULL, line BIGINT NOT NULL, written VARCHAR,
    ended_by BIGINT, ended_as VARCHAR
);
INSERT INTO kept.job (date, green, operation, hours, load_id, line, ended_by, ended_as)
    VALUES ('2026-03-01', 'ALD-1', 'mowing', 1.0, 5, 2, 6, 'replaced');
INSERT INTO kept.job (date, green, operation, hours, load_id, line)
    VALUES ('2026-03-01', 'ALD-1', 'mowing', 2.0, 5, 3);
INSERT INTO kept.job (date, green, operation, hours, load_id, line, ended_by, ended_as)
    VALUES ('2026-03-08', 'ALD-1', 'mowing', 1.5, 5, 4, 6, 'retired');
INSERT INTO kept.job (date, green, operation, hours, load_id, line, ended_by, ended_as)
    VALUES ('2026-03-08', 'ALD-2', 'rolling', 1.0, 5, 5, 8, 'replaced');
INSERT INTO kept.job (date, green, operation, hours, load_id, line)
    VALUES ('2026-03-01', 'ALD-1', 'mowing', 2.5, 6, 3);
INSERT INTO kept.job (date, green, operation, hours, load_id, line)
    VALUES ('2026-03-08', 'ALD-2', 'rolling', 3.0, 8, 2);
CREATE TABLE kept.level (
    date DATE NOT NULL, green VARCHAR NOT NULL, survey VARCHAR, x_m DOUBLE NOT NULL, y_m DOUBLE NOT NULL, z_mm
    DOUBLE, staff_mm DOUBLE, sight_mm DOUBLE, point VARCHAR, rink VARCHAR, instrument VARCHAR, accuracy_mm
    DOUBLE, benchmark VARCHAR, observer VARCHAR, note VARCHAR, load_id BIGINT NOT NULL, line BIGINT NOT NULL,
    written VARCHAR, ended_by BIGINT, ended_as VARCHAR
);
CREATE TABLE kept.material (
    material VARCHAR NOT NULL, sort VARCHAR NOT NULL, form VARCHAR, n_pct DOUBLE, p_pct DOUBLE, k_pct DOUBLE,
    mg_pct DOUBLE, s_pct DOUBLE, fe_pct DOUBLE, ca_pct DOUBLE, mn_pct DOUBLE, n_release VARCHAR, n_slow_pct
    DOUBLE, analysis_basis VARCHAR, analysis_by VARCHAR, density_kg_l DOUBLE, bulk_density_t_m3 DOUBLE,
    moisture_pct DOUBLE, moisture_basis VARCHAR, mix_by VARCHAR, sand_density_t_m3 DOUBLE, soil_density_t_m3
    DOUBLE, sand_pct DOUBLE, soil_pct DOUBLE, organic_matter_pct DOUBLE, pack_kg DOUBLE, pack_l DOUBLE, price
    DOUBLE, release_weeks DOUBLE, note VARCHAR, load_id BIGINT NOT NULL, line BIGINT NOT NULL, written
    VARCHAR, ended_by BIGINT, ended_as VARCHAR
);
CREATE TABLE kept.observation (
    date DATE NOT NULL, green VARCHAR NOT NULL, observed VARCHAR NOT NULL, survey VARCHAR, place VARCHAR, rink
    VARCHAR, x_m DOUBLE, y_m DOUBLE, method VARCHAR, hammer_kg DOUBLE, drop BIGINT, depth_from_mm DOUBLE,
    depth_to_mm DOUBLE, layer VARCHAR, value DOUBLE, unit VARCHAR, hits BIGINT, points BIGINT, ring_mm DOUBLE,
    volume_ml DOUBLE, minutes DOUBLE, head_mm DOUBLE, head_end_mm DOUBLE, photo VARCHAR, observer VARCHAR,
    note VARCHAR, load_id BIGINT NOT NULL, line BIGINT NOT NULL, written VARCHAR, ended_by BIGINT, ended_as
    VARCHAR
);
CREATE TABLE kept.photo (
    date DATE NOT NULL, green VARCHAR NOT NULL, picture VARCHAR NOT NULL, caption VARCHAR, place VARCHAR,
    survey VARCHAR, taken_by VARCHAR, note VARCHAR, jpeg BLOB, load_id BIGINT NOT NULL, line BIGINT NOT NULL,
    written VARCHAR, ended_by BIGINT, ended_as VARCHAR
);
CREATE TABLE kept.sieve (
    date DATE NOT NULL, green VARCHAR, material VARCHAR, sample VARCHAR, lab VARCHAR, size_mm DOUBLE NOT NULL,
    basis VARCHAR NOT NULL, value DOUBLE, unit VARCHAR NOT NULL, dry_mass_g DOUBLE, note VARCHAR, load_id
    BIGINT NOT NULL, line BIGINT NOT NULL, written VARCHAR, ended_by BIGINT, ended_as VARCHAR
);
CREATE TABLE kept.soil_test (
    date DATE NOT NULL, green VARCHAR NOT NULL, analyte VARCHAR NOT NULL, depth_from_mm DOUBLE, depth_to_mm
    DOUBLE, extractant VARCHAR, lab VARCHAR, sample VARCHAR, reference VARCHAR, value DOUBLE, unit VARCHAR NOT
    NULL, below_limit BOOLEAN, density_kg_l DOUBLE, bulk_density_t_m3 DOUBLE, burn_c DOUBLE, preparation
    VARCHAR, verdure VARCHAR, cores BIGINT, note VARCHAR, load_id BIGINT NOT NULL, line BIGINT NOT NULL,
    written VARCHAR, ended_by BIGINT, ended_as VARCHAR
);
INSERT INTO kept.soil_test (date, green, analyte, depth_from_mm, depth_to_mm, lab, value, unit, below_limit, load_id, line, written)
    VALUES ('2026-02-10', 'ALD-1', 'copper', 0.0, 100.0, 'Lab A', 1.0, 'mg/kg', true, 3, 5, '{"value": "<1"}');
INSERT INTO kept.soil_test (date, green, analyte, depth_from_mm, depth_to_mm, lab, value, unit, below_limit, load_id, line, ended_by, ended_as)
    VALUES ('2026-02-10', 'ALD-1', 'iron', 0.0, 100.0, 'Lab A', 90.0, 'mg/kg', false, 3, 3, 4, 'replaced');
INSERT INTO kept.soil_test (date, green, analyte, depth_from_mm, depth_to_mm, lab, value, unit, below_limit, load_id, line)
    VALUES ('2026-02-10', 'ALD-1', 'ph', 0.0, 100.0, 'Lab A', 6.1, 'pH', false, 3, 2);
INSERT INTO kept.soil_test (date, green, analyte, depth_from_mm, depth_to_mm, lab, value, unit, below_limit, load_id, line, ended_by, ended_as)
    VALUES ('2026-02-10', 'ALD-1', 'zinc', 0.0, 100.0, 'Lab A', 2.0, 'mg/kg', false, 3, 4, 4, 'withdrawn');
INSERT INTO kept.soil_test (date, green, analyte, depth_from_mm, depth_to_mm, lab, value, unit, below_limit, load_id, line)
    VALUES ('2026-02-10', 'ALD-1', 'iron', 0.0, 100.0, 'Lab A', 95.0, 'mg/kg', false, 4, 3);
INSERT INTO kept.soil_test (date, green, analyte, depth_from_mm, depth_to_mm, lab, value, unit, below_limit, load_id, line)
    VALUES ('2026-02-10', 'ALD-1', 'sodium', 0.0, 100.0, 'Lab A', 12.0, 'mg/kg', false, 4, 6);
CREATE TABLE kept.target (
    indicator VARCHAR NOT NULL, scope VARCHAR NOT NULL, scope_name VARCHAR, season VARCHAR, band VARCHAR, low
    DOUBLE, high DOUBLE, unit VARCHAR NOT NULL, source VARCHAR NOT NULL, note VARCHAR, load_id BIGINT NOT
    NULL, line BIGINT NOT NULL, written VARCHAR, ended_by BIGINT, ended_as VARCHAR
);
CREATE TABLE kept.weather_day (
    date DATE NOT NULL, station VARCHAR NOT NULL, tmax_c DOUBLE, tmin_c DOUBLE, tmean_c DOUBLE, dew_point_c
    DOUBLE, humidity_pct DOUBLE, humidity_max_pct DOUBLE, humidity_min_pct DOUBLE, soil_10cm_c DOUBLE, rain_mm
    DOUBLE, sun_h DOUBLE, radiation_mj_m2 DOUBLE, wind_m_s DOUBLE, wind_height_m DOUBLE, marks VARCHAR, note
    VARCHAR, load_id BIGINT NOT NULL, line BIGINT NOT NULL, written VARCHAR, ended_by BIGINT, ended_as VARCHAR
);
CREATE TABLE kept.weather_month (
    date DATE NOT NULL, station VARCHAR NOT NULL, tmax_c DOUBLE, tmin_c DOUBLE, tmean_c DOUBLE, dew_point_c
    DOUBLE, humidity_pct DOUBLE, soil_30cm_c DOUBLE, frost_days DOUBLE, ground_frost_days DOUBLE, rain_mm
    DOUBLE, rain_days DOUBLE, sun_h DOUBLE, radiation_mj_m2 DOUBLE, wind_m_s DOUBLE, evaporation_mm DOUBLE,
    marks VARCHAR, note VARCHAR, load_id BIGINT NOT NULL, line BIGINT NOT NULL, written VARCHAR, ended_by
    BIGINT, ended_as VARCHAR
);
CREATE TABLE meta.fault (
    load_id BIGINT NOT NULL, line BIGINT, column_name VARCHAR, value VARCHAR, code VARCHAR NOT NULL, severity
    VARCHAR NOT NULL, message VARCHAR NOT NULL, hint VARCHAR NOT NULL, green VARCHAR
);
INSERT INTO meta.fault (load_id, line, column_name, value, code, severity, message, hint, green)
    VALUES (3, 6, 'analyte', 'nosuch', 'choice.unknown', 'error', 'analyte: “nosuch” is not a known analyte.', 'Write one of the known words, or map it in the source profile under [aliases.analyte]: organic_matter, ph, phosphorus, potassium, magnesium, calcium, sulphur, sodium, iron, manganese, boron, copper, zinc, aluminium, chloride, nitrate_nitrogen, ammonium_nitrogen, exchange_capacity, conductivity, total_nitrogen, total_carbon, organic_carbon, inorganic_carbon, bulk_density, sand, silt, clay.', 'ALD-1');
INSERT INTO meta.fault (load_id, line, column_name, value, code, severity, message, hint, green)
    VALUES (5, 6, 'operation', 'moing', 'choice.unknown', 'error', 'operation: “moing” is not a known operation; closest: mowing, coring, liming.', 'Write one of the known words, or map it in the source profile under [aliases.operation]: edging, dew_removal, mowing, scarifying, verticutting, debris_collection, brushing, hollow_coring, solid_tining, deep_aeration, slitting, spiking, levelling, turfing, overseeding, top_dressing, drag_matting, fertilising, liming, wetting_agent, moss_treatment, plant_protection, rolling, irrigation, ditch_and_bank_work, inspection.', 'ALD-1');
INSERT INTO meta.fault (load_id, column_name, value, code, severity, message, hint)
    VALUES (6, '', '1 records', 'load.retired', 'warning', '1 records of this source between 2026-03-01 and 2026-03-31 are not in the file any more and are no longer in force.', 'Take this load back (undo LOAD), if the file was not complete after all.');
INSERT INTO meta.fault (load_id, line, column_name, value, code, severity, message, hint, green)
    VALUES (6, 3, '', 'line 2 of log_march.csv', 'record.other_file', 'warning', 'line 2 of log_march.csv said something else of the same record; what log_march_complete.csv says took its place, the former values are kept.', 'If both are true (a second job on that day), give each its own reference and load both files; if the former was right, take this load back (undo LOAD). What was changed: history --file log_march_complete.csv.', 'ALD-1');
INSERT INTO meta.fault (load_id, line, column_name, value, code, severity, message, hint, green)
    VALUES (8, 2, '', 'line 5 of log_march.csv', 'record.other_file', 'warning', 'line 5 of log_march.csv said something else of the same record; what crew.csv says took its place, the former values are kept.', 'If both are true (a second job on that day), give each its own reference and load both files; if the former was right, take this load back (undo LOAD). What was changed: history --file crew.csv.', 'ALD-2');
CREATE TABLE meta.layout (
    version BIGINT NOT NULL, parts VARCHAR
);
INSERT INTO meta.layout (version, parts)
    VALUES (2, '380d0652e654ffb0d31bffd4d3adbcdbd831161cb8d4ebba45083827521dac9e');
CREATE TABLE meta.load (
    load_id BIGINT NOT NULL, file VARCHAR NOT NULL, sha256 VARCHAR NOT NULL, kind VARCHAR NOT NULL, profile
    VARCHAR NOT NULL, rules_sha256 VARCHAR NOT NULL, loaded_at TIMESTAMP NOT NULL, version VARCHAR NOT NULL,
    encoding VARCHAR NOT NULL, rows BIGINT NOT NULL, loaded BIGINT NOT NULL, unchanged BIGINT NOT NULL,
    replaced BIGINT NOT NULL, withdrawn BIGINT NOT NULL, rejected BIGINT NOT NULL, ignored BIGINT NOT NULL,
    warnings BIGINT NOT NULL, retired BIGINT NOT NULL
);
INSERT INTO meta.load (load_id, file, sha256, kind, profile, rules_sha256, loaded_at, version, encoding, rows, loaded, unchanged, replaced, withdrawn, rejected, ignored, warnings, retired)
    VALUES (1, 'clubs.csv', 'e5e3427f86f7bf54474ceb27526337aac6a0245763cd71f969a2b79c39f790d4', 'club', '', 'e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855', '2026-11-28 20:57:10', '0.1.0', 'utf-8', 1, 1, 0, 0, 0, 0, 0, 0, 0);
INSERT INTO meta.load (load_id, file, sha256, kind, profile, rules_sha256, loaded_at, version, encoding, rows, loaded, unchanged, replaced, withdrawn, rejected, ignored, warnings, retired)
    VALUES (2, 'greens.csv', '250a53cf6595b685265345441c2a0c3f1a6fb1bdae593e8403c67e60cf0ad720', 'green', '', 'e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855', '2026-11-28 20:57:10', '0.1.0', 'utf-8', 2, 2, 0, 0, 0, 0, 0, 0, 0);
INSERT INTO meta.load (load_id, file, sha256, kind, profile, rules_sha256, loaded_at, version, encoding, rows, loaded, unchanged, replaced, withdrawn, rejected, ignored, warnings, retired)
    VALUES (3, 'lab_february.csv', '5b948ed72ad707e34533628ace0a01b433092001e1e534bd01e4b27329847d8a', 'soil_test', '', 'e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855', '2026-11-28 20:57:10', '0.1.0', 'utf-8', 5, 4, 0, 0, 0, 1, 0, 0, 0);
INSERT INTO meta.load (load_id, file, sha256, kind, profile, rules_sha256, loaded_at, version, encoding, rows, loaded, unchanged, replaced, withdrawn, rejected, ignored, warnings, retired)
    VALUES (4, 'lab_february_corrected.csv', '211dd77152fa2f68f58d34daab4619ef0a82b7387704e523e91c3eec7fdd2c51', 'soil_test', '', 'e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855', '2026-11-28 20:57:10', '0.1.0', 'utf-8', 5, 1, 2, 1, 1, 0, 0, 0, 0);
INSERT INTO meta.load (load_id, file, sha256, kind, profile, rules_sha256, loaded_at, version, encoding, rows, loaded, unchanged, replaced, withdrawn, rejected, ignored, warnings, retired)
    VALUES (5, 'log_march.csv', 'e5a81175ceba49b9c9b5ec51d4f5d08c363315b457f3e9f2f47cc2fe5e175069', 'job', '', 'e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855', '2026-11-28 20:57:11', '0.1.0', 'utf-8', 5, 4, 0, 0, 0, 1, 0, 0, 0);
INSERT INTO meta.load (load_id, file, sha256, kind, profile, rules_sha256, loaded_at, version, encoding, rows, loaded, unchanged, replaced, withdrawn, rejected, ignored, warnings, retired)
    VALUES (6, 'log_march_complete.csv', '8d5b0bd72681eaab10984e5c0e0d5174ad982b093e7fdc440199db4d7ee47baa', 'job', '', 'e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855', '2026-11-28 20:57:11', '0.1.0', 'utf-8', 5, 0, 2, 1, 1, 0, 1, 2, 1);
INSERT INTO meta.load (load_id, file, sha256, kind, profile, rules_sha256, loaded_at, version, encoding, rows, loaded, unchanged, replaced, withdrawn, rejected, ignored, warnings, retired)
    VALUES (8, 'crew.csv', '5ec21348c6b3df2d732dfc3afa77d67457df18be1602770ee9d123ad2e6a414e', 'job', '', 'e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855', '2026-11-28 20:57:12', '0.1.0', 'utf-8', 1, 0, 0, 1, 0, 0, 0, 1, 0);
INSERT INTO meta.load (load_id, file, sha256, kind, profile, rules_sha256, loaded_at, version, encoding, rows, loaded, unchanged, replaced, withdrawn, rejected, ignored, warnings, retired)
    VALUES (9, 'greens_2026.csv', '3c7bfb26b8bfe6ca5f5ee6ed492e404a0a5777d4257671e366dcf093cc124bf1', 'green', '', 'e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855', '2026-11-28 20:57:12', '0.1.0', 'utf-8', 2, 0, 1, 1, 0, 0, 0, 0, 0);
CREATE TABLE meta.rejects (
    name VARCHAR NOT NULL, place VARCHAR NOT NULL, file VARCHAR NOT NULL, sha256 VARCHAR NOT NULL
);
INSERT INTO meta.rejects (name, place, file, sha256)
    VALUES ('lab_february.rejected.csv', 'inbox/lab_february.csv', 'lab_february.csv', '5c660c9c31ce9cbf7630a4fafa7e0ae22b3cc121665248cae279276fa4d2170d');
INSERT INTO meta.rejects (name, place, file, sha256)
    VALUES ('log_march.rejected.csv', 'inbox/log_march.csv', 'log_march.csv', 'be030fbbd306cf2ccd095363f2421f07da18cf5ae985b32beaecc4c090a12591');
CREATE TABLE meta.undone (
    load_id BIGINT NOT NULL, file VARCHAR NOT NULL, sha256 VARCHAR NOT NULL, kind VARCHAR NOT NULL, profile
    VARCHAR NOT NULL, rules_sha256 VARCHAR NOT NULL, loaded_at TIMESTAMP NOT NULL, version VARCHAR NOT NULL,
    encoding VARCHAR NOT NULL, rows BIGINT NOT NULL, loaded BIGINT NOT NULL, unchanged BIGINT NOT NULL,
    replaced BIGINT NOT NULL, withdrawn BIGINT NOT NULL, rejected BIGINT NOT NULL, ignored BIGINT NOT NULL,
    warnings BIGINT NOT NULL, retired BIGINT NOT NULL, undone_at TIMESTAMP NOT NULL
);
INSERT INTO meta.undone (load_id, file, sha256, kind, profile, rules_sha256, loaded_at, version, encoding, rows, loaded, unchanged, replaced, withdrawn, rejected, ignored, warnings, retired, undone_at)
    VALUES (7, 'log_april.csv', 'f94e693d6e14e427d8a42d3476f227fafa098fe53cc089c16a5eedc3c5396196', 'job', '', 'e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855', '2026-11-28 20:57:12', '0.1.0', 'utf-8', 1, 1, 0, 0, 0, 0, 0, 0, 0, '2026-11-28 20:57:12');
CREATE VIEW club AS SELECT k.club, k."name", k.region, k.contact, k.note, k.load_id, l.file, k.line, k.written FROM kept.club AS k INNER JOIN meta."load" AS l ON ((l.load_id = k.load_id)) WHERE (k.ended_by IS NULL);
CREATE VIEW green AS SELECT k.green, k.club, k."name", k.area_m2, k.length_m, k.width_m, k.shape, k.construction, k.gravel, k.grasses, k.laid_on, k.closed_on, k.latitude_deg, k.station, k.aliases, k.note, k.load_id, l.file, k.line, k.written FROM kept.green AS k INNER JOIN meta."load" AS l ON ((l.load_id = k.load_id)) WHERE (k.ended_by IS NULL);
CREATE VIEW green_speed AS SELECT k.date, k.green, k.rink, k.direction, k.device, k."value", k.unit, k.distance_m, k.hours_since_cut, k.cut_height_mm, k.observer, k.note, k.load_id, l.file, k.line, k.written FROM kept.green_speed AS k INNER JOIN meta."load" AS l ON ((l.load_id = k.load_id)) WHERE (k.ended_by IS NULL);
CREATE VIEW job AS SELECT k.date, k.green, k.operation, k.material, k.reference, k.logged_by, k.passes, k.depth_mm, k.tine_mm, k.tine_basis, k.tine_wall_mm, k.spacing_along_mm, k.spacing_across_mm, k.holes, k.blade_mm, k.blade_spacing_mm, k.cut_height_mm, k.mass_kg, k.volume_l, k.packs, k.rate_g_m2, k.rate_ml_m2, k.treated_area_m2, k.tray_g, k.tray_cm2, k.clippings_g_m2, k.debris_l, k.debris_kg, k."hours", k.people, k.vibration_m_s2, k.trigger_hours, k."cost", k.note, k.load_id, l.file, k.line, k.written FROM kept.job AS k INNER JOIN meta."load" AS l ON ((l.load_id = k.load_id)) WHERE (k.ended_by IS NULL);
CREATE VIEW "level" AS SELECT k.date, k.green, k.survey, k.x_m, k.y_m, k.z_mm, k.staff_mm, k.sight_mm, k.point, k.rink, k.instrument, k.accuracy_mm, k.benchmark, k.observer, k.note, k.load_id, l.file, k.line, k.written FROM kept."level" AS k INNER JOIN meta."load" AS l ON ((l.load_id = k.load_id)) WHERE (k.ended_by IS NULL);
CREATE VIEW material AS SELECT k.material, k.sort, k.form, k.n_pct, k.p_pct, k.k_pct, k.mg_pct, k.s_pct, k.fe_pct, k.ca_pct, k.mn_pct, k.n_release, k.n_slow_pct, k.analysis_basis, k.analysis_by, k.density_kg_l, k.bulk_density_t_m3, k.moisture_pct, k.moisture_basis, k.mix_by, k.sand_density_t_m3, k.soil_density_t_m3, k.sand_pct, k.soil_pct, k.organic_matter_pct, k.pack_kg, k.pack_l, k.price, k.release_weeks, k.note, k.load_id, l.file, k.line, k.written FROM kept.material AS k INNER JOIN meta."load" AS l ON ((l.load_id = k.load_id)) WHERE (k.ended_by IS NULL);
CREATE VIEW observation AS SELECT k.date, k.green, k.observed, k.survey, k.place, k.rink, k.x_m, k.y_m, k."method", k.hammer_kg, k."drop", k.depth_from_mm, k.depth_to_mm, k.layer, k."value", k.unit, k.hits, k.points, k.ring_mm, k.volume_ml, k."minutes", k.head_mm, k.head_end_mm, k.photo, k.observer, k.note, k.load_id, l.file, k.line, k.written FROM kept.observation AS k INNER JOIN meta."load" AS l ON ((l.load_id = k.load_id)) WHERE (k.ended_by IS NULL);
CREATE VIEW photo AS SELECT k.date, k.green, k.picture, k.caption, k.place, k.survey, k.taken_by, k.note, k.jpeg, k.load_id, l.file, k.line, k.written FROM kept.photo AS k INNER JOIN meta."load" AS l ON ((l.load_id = k.load_id)) WHERE (k.ended_by IS NULL);
CREATE VIEW sieve AS SELECT k.date, k.green, k.material, k."sample", k.lab, k.size_mm, k.basis, k."value", k.unit, k.dry_mass_g, k.note, k.load_id, l.file, k.line, k.written FROM kept.sieve AS k INNER JOIN meta."load" AS l ON ((l.load_id = k.load_id)) WHERE (k.ended_by IS NULL);
CREATE VIEW soil_test AS SELECT k.date, k.green, k.analyte, k.depth_from_mm, k.depth_to_mm, k.extractant, k.lab, k."sample", k.reference, k."value", k.unit, k.below_limit, k.density_kg_l, k.bulk_density_t_m3, k.burn_c, k.preparation, k.verdure, k.cores, k.note, k.load_id, l.file, k.line, k.written FROM kept.soil_test AS k INNER JOIN meta."load" AS l ON ((l.load_id = k.load_id)) WHERE (k.ended_by IS NULL);
CREATE VIEW "target" AS SELECT k.indicator, k."scope", k.scope_name, k.season, k.band, k.low, k.high, k.unit, k."source", k.note, k.load_id, l.file, k.line, k.written FROM kept."target" AS k INNER JOIN meta."load" AS l ON ((l.load_id = k.load_id)) WHERE (k.ended_by IS NULL);
CREATE VIEW weather_day AS SELECT k.date, k.station, k.tmax_c, k.tmin_c, k.tmean_c, k.dew_point_c, k.humidity_pct, k.humidity_max_pct, k.humidity_min_pct, k.soil_10cm_c, k.rain_mm, k.sun_h, k.radiation_mj_m2, k.wind_m_s, k.wind_height_m, k.marks, k.note, k.load_id, l.file, k.line, k.written FROM kept.weather_day AS k INNER JOIN meta."load" AS l ON ((l.load_id = k.load_id)) WHERE (k.ended_by IS NULL);
CREATE VIEW weather_month AS SELECT k.date, k.station, k.tmax_c, k.tmin_c, k.tmean_c, k.dew_point_c, k.humidity_pct, k.soil_30cm_c, k.frost_days, k.ground_frost_days, k.rain_mm, k.rain_days, k.sun_h, k.radiation_mj_m2, k.wind_m_s, k.evaporation_mm, k.marks, k.note, k.load_id, l.file, k.line, k.written FROM kept.weather_month AS k INNER JOIN meta."load" AS l ON ((l.load_id = k.load_id)) WHERE (k.ended_by IS NULL);
CREATE VIEW application AS WITH placed AS (SELECT j.*, g.club, COALESCE(j.treated_area_m2, g.area_m2) AS worked_m2, (m.material IS NOT NULL) AS in_register, m.sort, m.form, m.n_pct, m.p_pct, m.k_pct, m.mg_pct, m.s_pct, m.fe_pct, m.ca_pct, m.mn_pct, m.n_release, m.n_slow_pct, m.mix_by, m.sand_density_t_m3, m.soil_density_t_m3, m.analysis_basis, m.analysis_by, m.density_kg_l, m.bulk_density_t_m3, m.moisture_pct, m.moisture_basis, m.sand_pct, m.soil_pct, m.organic_matter_pct, m.pack_kg, m.pack_l, m.price, m.release_weeks FROM job AS j INNER JOIN green AS g ON ((g.green = j.green)) LEFT JOIN material AS m ON ((m.material = j.material)) WHERE ((j.material IS NOT NULL) OR (j.operation = 'top_dressing')))SELECT * EXCLUDE (worked_m2, volume_l, mass_kg), CASE  WHEN ((mass_kg IS NOT NULL)) THEN (mass_kg) WHEN (((packs * pack_kg) IS NOT NULL)) THEN ((packs * pack_kg)) WHEN (((rate_g_m2 * worked_m2) IS NOT NULL)) THEN (((rate_g_m2 * worked_m2) / 1000)) ELSE NULL END AS mass_kg, CASE  WHEN ((volume_l IS NOT NULL)) THEN (volume_l) WHEN (((packs * pack_l) IS NOT NULL)) THEN ((packs * pack_l)) WHEN (((rate_ml_m2 * worked_m2) IS NOT NULL)) THEN (((rate_ml_m2 * worked_m2) / 1000)) ELSE NULL END AS volume_l FROM placed;
