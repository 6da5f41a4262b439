"""A small study of an invented ship, quick to run: a minute of gale, four storms."""

SCENARIO = """
format = 1
title = "two loadings"

[ship]
name = "Marit"
length_m = 84.0
beam_m = 14.0
draught_m = 5.2
depth_m = 8.1
displacement_t = 4250.0

[ship.levers]
kind = "wall-sided"
km_m = 5.7
bm_m = 2.9
heel_max_deg = 50.0

[ship.gravity]
kg_m = 5.2

[ship.inertia]
gyradius_m = 5.3

[ship.damping]
linear_per_s = 0.02

[limits]
roll_deg = 6.0

[sea]
kind = "irregular"
spectrum = "bretschneider"
significant_height_m = 4.0
peak_period_s = 9.0

[run]
duration_s = 60.0
realisations = 4
seed = 3

[[conditions]]
name = "light"

[[conditions]]
name = "deck cargo"
"ship.gravity.kg_m" = 5.5
"""
