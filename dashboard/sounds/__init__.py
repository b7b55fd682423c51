"""Practice sounds: what an address asks for (``asked.py``), made and kept (``made.py``), sent (``routes.py``).

The page: :mod:`dashboard.pages.practice_sound`.
"""
