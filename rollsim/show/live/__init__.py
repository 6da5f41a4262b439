"""The live model: one page that computes as it is used; Python gives it the numbers."""
