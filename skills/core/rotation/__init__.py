"""The class plan: who is where, on which step, at which hole, in each rotation of a class. Pure: an ask in, a plan out.

`asks` holds the values, `weights` what each wish is worth, `programme` writes the ask as an integer programme,
`solving` has it solved and `spreading` deals what alike people do among them. `checking` looks at any plan and shares
nothing with the solver; `clashes` names the smallest set of rules that cannot hold together; `simple` has the plans
that coaches make without a solver.
"""
