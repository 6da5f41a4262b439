"""The rolling section as a film."""
