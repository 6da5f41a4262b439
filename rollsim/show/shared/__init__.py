"""What the pages share: the frame of a page, and plain JavaScript to decode, draw and write."""
