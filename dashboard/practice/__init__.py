"""The Practice page: questions on tihais, marked at once, and clapping along to hear how close the landing comes.

::

    asked      an address and what it asks for
    cycle      the cycle to choose an answer on
    shown      what the page shows: the choices, a question, an answer that is marked
    takes      what is clapped along to: what sounds, in matras or in a recording, and where a tap belongs
    routes     all of it by HTTP

Conventions: the address holds every choice; every answer follows from the address alone, so that nothing is kept about
whoever practises: the tally of a run, and how close taps were, are only on the page. Readers may practise too.
"""
