"""Real services for tests: found, started, named at the end; or missed with a reason.

`plugin.py` is loaded with `-p`; tests mark what they need (`postgres`, `redis`, `browser`) and ask for the fixture.
"""
