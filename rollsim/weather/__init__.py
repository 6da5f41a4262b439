"""Sea and wind: spectra, wave components at the ship, random streams, wind levers."""
