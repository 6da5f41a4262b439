"""Property tests find the same examples everywhere: a run of the tests says what the code is."""

from hypothesis import settings

settings.register_profile("same", derandomize=True, deadline=None)
settings.load_profile("same")
