"""Numbers drawn from runs: margins, extremes, probabilities with their limits."""
