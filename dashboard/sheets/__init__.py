"""Practice sheets in the browser: what is wished for in an address (``asked.py``), and the answers (``routes.py``)."""
