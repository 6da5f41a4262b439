"""Conditions and sweep: from a sound base file to its cases."""
