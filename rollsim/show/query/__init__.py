"""Questions to a result: its cases, runs, inputs and curves; what is compared with what."""
