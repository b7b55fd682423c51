"""The command line: one thin command per job. Heavy imports stay inside the command that needs them."""


def main() -> None:
    """Run the command line."""
