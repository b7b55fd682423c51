"""Concerts: the list of performances, what is known of each and what to do next, and adding recordings.

``asked.py``       what an address asks the list for
``listed.py``      the performances that fit, in order, and what there is to choose from
``next_steps.py``  what of a recording waits for somebody, with links to the place
``details.py``     what is said of a performance: its form, and how it is written
``withdrawn.py``   recordings that were withdrawn, to be brought back
``orders.py``      recordings to be taken in, kept in the workshop until they are
``work.py``        taking them in, one after the other, in a process beside the server
``markup.py``      templates to markup; ``routes.py``, ``adding_routes.py``: the requests
"""
