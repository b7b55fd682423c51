"""Who may do what on the pages: people and their roles, logging in, what a reader may not, what may come in."""
