"""Results on disk: written aside and renamed, locked against a second run, read back with care."""
