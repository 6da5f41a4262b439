"""The scenario as text: reading it, parsing it, and where in it every key stands."""
