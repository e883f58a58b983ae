"""Sets on paper: booklets, answer sheets, mark schemes and lesson sheets as tagged PDF.

Each kind has a module that gathers plain values from versions and people, and a template (``*.typ``) that sets them.
Nothing here reads or writes the database.
"""
