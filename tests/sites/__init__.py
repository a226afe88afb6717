"""The program as a practice runs it: processes of its own over data of their own, at hours that a test chooses."""
