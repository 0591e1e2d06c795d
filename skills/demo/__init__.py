"""The demo gym: half a year of an invented gym, played by a seeded simulation and written into the tables.

`simulate` is pure: the same seed and the same last day give the same facts, ids among them. `fill` writes them,
`canonical_dump` gives the bytes by which two gyms are compared.
"""
