"""What breaks in a machine room, done to real processes: a rig, and a row of the fault table in each test.

The rig: sinks that write every message down before they accept it (`sinks`), the program's own processes over a
database of their own (`rig`), what was promised beside what the sinks saw (`figures`), the table in README (`table`).
"""
