"""Packs: pieces with their sheets, sounds and notation as a folder or a zip that opens in any browser, offline.

* ``wishes.py`` what is asked for; ``licences.py`` what the musician allows, ``whose.py`` whose performance it is;
* ``making.py`` makes a pack: its files by ``work.py``, in processes beside (``workers.py``); ``writing.py`` puts it in
  its place whole;
* ``alone.py`` all of it in one page;
* ``contents.py`` what is in it, and its listing ``pack.json``; ``names.py`` what files are called;
* ``notation.py`` the notation on its page, ``page.py`` the page, filled into ``page/index.html.jinja``; beside it stand
  ``page/look.css``, and the player: ``page/reckoning.js`` (pure, tested by node), ``sounding.js``, ``player.js``.

Why the sounds are MP3, and each lies there a second time as a script: MP3 is what every browser plays, older Safari
too, where Opus in Ogg is silent, and it is a sixth of FLAC. A page that is opened from a disk may fetch nothing, so
that its only way to a decoded sound, and thus to a loop that is right to the sample, is a script with the bytes in it;
an ``audio`` element that is set back at the end of a part leaves a gap that is heard (measured in
``benchmarks/README.md``). The script takes a third more than the file; the file itself serves where scripts do not run.
"""
