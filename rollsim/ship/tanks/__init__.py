"""Tanks, boxes or sections: what stands in them, and where the liquid lies at any heel."""
