"""Practice sheets."""
