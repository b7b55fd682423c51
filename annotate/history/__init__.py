"""What became of a recording's annotations and how to go back: history, undo, two states compared, as of a day.

Everything here reads revisions and writes new ones; nothing written is ever changed or removed.
"""
