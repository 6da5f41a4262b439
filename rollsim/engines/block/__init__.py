"""The block engine: many runs of one case side by side at a fixed step."""
