"""The class plan: who is where, on which step, at which hole, in each rotation of a class. Pure: an ask in, a plan out.

`asks` holds the values and `written` their JSON, `weights` what each wish is worth. `alike` puts people together of
whom one plan speaks alike, `programme` writes the ask as an integer programme, `highs` has it in the solver, `lines`
looks for holes, `solving` leads the search, and `spreading` deals what alike people do among them. `checking` looks at
any plan and shares nothing with the solver; `clashes` names the smallest set of rules that cannot hold together,
`bottlenecks` what holds a plan back. `simple` has the plans that coaches make without a solver, `compared` sets them
side by side, and `what_if` asks a class anew with more bars, people or coaches.
"""
