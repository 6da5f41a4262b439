"""The greatest roll of a run: how often it passes an angle, counted and by fitted laws."""
