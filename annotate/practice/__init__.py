"""What was dissected becomes material to practise with: sheets, sounds, packs, exercises.

``pieces.py`` says what all of it is made of: a tihai or a phrase of a recording, with what is known of how it was
played. ``errors.py`` holds the errors.
"""
