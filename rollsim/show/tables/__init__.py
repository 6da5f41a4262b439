"""Numbers and tables of a result: for the terminal, as JSON and as CSV."""
