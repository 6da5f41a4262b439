"""The two cautions that every output of the program carries."""

CAUTION = (
    "For study and training only. One degree of freedom, prescribed levers and damping: "
    "this is no approved stability calculation. The approved stability information, local codes, "
    "the flag and class rules and licensed practice decide."
)

LOLL_WARNING = (
    "Angle of loll: never correct it by shifting or filling on the high side; the ship may flop "
    "to the other side and further. Lower G, reduce free surfaces, begin on the low side and "
    "expect the heel to grow first."
)
