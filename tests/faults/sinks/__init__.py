"""Servers that take messages, each a process of its own: what they wrote down is the only witness of a trial."""
