"""Statistics of phrases and tihais over many performances, and agreement between those who annotate them."""
