"""One storm as channels in time: effective slope, elevation, wind speed."""
