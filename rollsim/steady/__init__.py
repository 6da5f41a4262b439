"""Steady responses in a regular sea: periodic solutions, followed and located; estimates of escape."""
