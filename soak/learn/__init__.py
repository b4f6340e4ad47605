"""Learning from results. Empty until its issue."""
