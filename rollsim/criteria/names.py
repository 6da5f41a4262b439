"""The names of the criteria, known without reading any of them."""

ATTRIBUTE = "criteria"
"""Where a result carries its lines, as JSON."""
MARKS = "criteria_marks"
"""Where it carries the heels and levers that pictures of the weather criterion mark, as JSON."""
AREAS = ("weather", "weather-long-periods")
"""The rules that compare areas a and b."""
NAMES = ("general", "weather", "weather-long-periods", "naval-beam-wind")
LIMITING = ("general", "weather")
"""The rules that the greatest KG is looked for where none is named."""
