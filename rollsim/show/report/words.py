"""The fixed words of a report: what its numbers mean and where the model ends."""

from __future__ import annotations

from rollsim.measures.outcome import Event
from rollsim.show.tables.cells import VERBS

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
    "All at the start, before events. GM and GZ are corrected for free surfaces, KG is not. KM is "
    "the height of the upright metacentre. P is port (negative), S starboard. Static heel is under "
    "mean wind and off-centre weight. Levers and areas are those of GZ to starboard, off-centre G "
    "included, without wind."
)
ROLLING = (
    "Rolling is counted from settle_s on. Mean: of roll, starboard down. Std: standard deviation "
    "about the mean of each run. Upcrossings: upward crossings of the static heel. Side changes: "
    "changes from one well of the potential to another. First passed: how many runs passed a "
    "limit, whatever came after, and the earliest time."
)
MEANING_OF_MARGINS = (
    "Energy margin: 1 at rest, 0 at the barrier, negative where the motion relative to the water "
    "had energy enough to go over; it is the lowest of a run, here the least and the median of all "
    "runs, the median with exact 95 % limits that ask nothing of its distribution."
)


def meaning_of_chances(event: Event) -> str:
    """What probabilities and rates of an event mean."""
    failure = "A failure is the first passing of any limit. " if event == "failure" else ""
    return (
        "Probabilities are for one run of the stated duration, with exact 95 % limits (Clopper and "
        f"Pearson): the runs with the event out of all solved ones. {failure}The {event} rate "
        "counts events per hour from settle_s on: runs without one count with the time that they "
        f"stood, with Poisson 95 % limits; the mean time to {event} is its inverse and has no "
        "upper limit where there was none. Runs that passed a limit before settle_s stay in every "
        "count; of more than 1 in 20 there is a warning above."
    )


MEANING_OF_RANKING: dict[Event, str] = {
    event: (
        "Loadings that met the same storms are compared storm by storm; results that differ in "
        "sea, wind, duration, settling or seed met others and are kept apart. Compared are those "
        "that differ in one thing: in condition or file at the same place of the sweep, or as "
        "neighbours along an axis of the ship. A discordant storm "
        f"is one in which only one of the two {verb}. The difference of the {event} probabilities "
        "has 95 % limits by Tango's score interval for pairs. The test asks how likely so uneven a "
        "split of the discordant storms is if both loadings are alike: exact and two-sided. p is "
        "that of the pair by itself; p (Holm) is raised for all the comparisons made under the "
        "same circumstances. A difference is called shown where p (Holm) is below 0.05; above it "
        "the order of the two is not to be relied on, though the interval, approximate and for "
        "the pair by itself, may leave out 0."
    )
    for event, verb in VERBS.items()
}
MEANING_OF_STORMS = (
    "The worst storms are those in which most loadings capsized, then most flooded, then most "
    "failed, then the greatest roll was reached. Every loading whose history is kept is drawn in "
    "the same storm."
)
NO_HISTORY = (
    "The results keep no history of the worst storms: rollsim replay makes any run again, and "
    "[output] histories keeps more."
)
