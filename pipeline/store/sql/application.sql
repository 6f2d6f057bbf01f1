-- What was put on, with what its label says: one row a job that names a material or is a top dressing.
-- mass_kg and volume_l come from the first of these that the job gives: the quantity, packs times the pack size,
-- rate times the area gone over (the treated area, else the green's own). They lie on that area; what share of the
-- green it is, and so what a job counts in a season, is told in pipeline/indicators/shares.py.
-- Green and material are as they held on the day of the job.
CREATE OR REPLACE VIEW application AS
WITH placed AS (
    SELECT
        j.*,
        g.club,
        coalesce(j.treated_area_m2, g.area_m2) AS worked_m2,
        m.material IS NOT NULL AS in_register,
        m.sort, m.form, m.n_pct, m.p_pct, m.k_pct, m.mg_pct, m.s_pct, m.fe_pct, m.ca_pct, m.mn_pct, m.n_release,
        m.n_slow_pct, m.mix_by, m.sand_density_t_m3, m.soil_density_t_m3, m.analysis_basis, m.analysis_by,
        m.density_kg_l, m.bulk_density_t_m3, m.moisture_pct, m.moisture_basis, m.sand_pct, m.soil_pct,
        m.organic_matter_pct, m.pack_kg, m.pack_l, m.price, m.release_weeks
    FROM job AS j
    JOIN green_by_day AS g ON g.green = j.green
        AND (g.holds_from IS NULL OR j.date >= g.holds_from) AND (g.holds_until IS NULL OR j.date < g.holds_until)
    LEFT JOIN material_by_day AS m ON m.material = j.material
        AND (m.holds_from IS NULL OR j.date >= m.holds_from) AND (m.holds_until IS NULL OR j.date < m.holds_until)
    WHERE j.material IS NOT NULL OR j.operation = 'top_dressing'
)
SELECT
    * EXCLUDE (mass_kg, volume_l, worked_m2),
    CASE
        WHEN mass_kg IS NOT NULL THEN mass_kg
        WHEN packs * pack_kg IS NOT NULL THEN packs * pack_kg
        WHEN rate_g_m2 * worked_m2 IS NOT NULL THEN rate_g_m2 * worked_m2 / 1000
    END AS mass_kg,
    CASE
        WHEN volume_l IS NOT NULL THEN volume_l
        WHEN packs * pack_l IS NOT NULL THEN packs * pack_l
        WHEN rate_ml_m2 * worked_m2 IS NOT NULL THEN rate_ml_m2 * worked_m2 / 1000
    END AS volume_l
FROM placed;
COMMENT ON VIEW application IS 'What was put on, resolved to mass or volume; one row is a job that names a material.';
