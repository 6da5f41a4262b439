"""The scenario file: read, validated, and expanded into cases."""
