"""The pure core of skills: values in, values out. No Django, no database, no clock, no float.

Moments are integer microseconds since 1970 UTC (``*_us``), hold lengths integer tenths of a second.
"""
