"""The commands of the command line, one module per kind of job, and what they share."""
