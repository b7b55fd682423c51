"""Finding what is played three times so that it lands, and what comes again: on the grid, by tabla and melody."""
