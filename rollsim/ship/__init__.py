"""The ship at rest: levers, statics, metacentre, damping, inertia."""
