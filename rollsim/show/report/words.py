"""The fixed words of a report: what its numbers mean and where the model ends."""

from __future__ import annotations

LIMITS_OF_THE_MODEL = (
    "One degree of freedom: the ship rolls and does nothing else. Sway, heave, pitch and yaw, and "
    "what they do to roll, are not in it.",
    "Righting levers, damping and the radius of gyration are given, not computed: the roll is as "
    "good as they are. Added inertia and damping do not change with frequency.",
    "The levers are those of calm water; they hold over the tabulated range and end there. Nothing "
    "is extrapolated: a run that reaches the end of its levers counts as capsized.",
    "Waves act through one effective slope over the beam. Water on deck, flooding past an opening, "
    "shifting cargo and broken gear are not in it unless an event says so.",
    "Past the flooding angle the numbers describe a ship that stays tight, which she would not.",
    "Probabilities hold for the modelled sea, its duration and this ship alone. They are no "
    "forecast for a voyage: seas change, masters act.",
    "No failure seen is not no risk: the upper limit says what the runs cannot exclude.",
)

MEANING_OF_STATICS = (
    "All at the start, before events. GM has the free surfaces taken off. P is port (negative), S "
    "starboard. Static heel is under mean wind and off-centre weight. The greatest lever is the "
    "greatest on the stored heels to starboard."
)
MEANING_OF_MARGINS = (
    "Energy margin: 1 at rest, 0 at the barrier, negative where the motion relative to the water "
    "had energy enough to go over; it is the lowest of a run, here the least and the median of all "
    "runs, the median with exact 95 % limits that ask nothing of its distribution."
)
MEANING_OF_CHANCES = (
    "Probabilities are for one run of the stated duration, with exact 95 % limits (Clopper and "
    "Pearson). A failure is the first passing of any limit. The failure rate counts failures per "
    "hour at risk: runs without a failure count with the time that they stood, with Poisson 95 % "
    "limits; the mean time to failure is its inverse and has no upper limit where nothing failed. "
    "Runs not solved, and runs that failed before settling, count in neither."
)
MEANING_OF_RANKING = (
    "Loadings that met the same storms are compared storm by storm; results that differ in sea, "
    "wind, duration, settling or seed met others and are kept apart. A discordant storm is "
    "one in which only one of the two failed. The difference of the failure probabilities has "
    "95 % limits by Tango's score interval for pairs. The test asks how likely so uneven a split "
    "of the discordant storms is if both loadings are alike: exact and two-sided, its p-value "
    "raised after Holm for all the comparisons made under the same circumstances. A difference is "
    "called shown below 0.05; above it the order of the two is not to be relied on."
)
MEANING_OF_STORMS = (
    "The worst storms are those in which most loadings capsized, then most failed, then the "
    "greatest roll was reached. Every loading whose history is kept is drawn in the same storm."
)
