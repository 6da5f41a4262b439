"""The value of one key at which an event has a set probability, or at which it first happens.

The search is pure: it asks a callable for counts and knows nothing of ships.
"""
