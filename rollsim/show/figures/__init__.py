"""The pictures of a result."""
