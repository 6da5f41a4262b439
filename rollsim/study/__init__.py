"""Running a study: from validated cases to problems, runs, and the arrays of a result."""
