"""The names of the criteria, known without reading any of them."""

ATTRIBUTE = "criteria"
"""Where a result carries its lines, as JSON."""
NAMES = ("general", "weather", "weather-long-periods", "naval-beam-wind")
LIMITING = ("general", "weather")
"""The rules that the greatest KG is looked for where none is named."""
