"""Steady responses in a regular sea: periodic solutions, followed; estimates of escape."""
