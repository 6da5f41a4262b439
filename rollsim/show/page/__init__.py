"""The classroom page."""
