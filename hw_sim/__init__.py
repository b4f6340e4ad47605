"""A stand-in for the hardware: an electric oven with a packed canister in it, its controller, and the line to it.

It knows nothing of `soak` and uses only the standard library. Its physics and its numbers are its own, on purpose:
a tool that is only ever tried on its own model learns nothing. Start with `world.py`; the registers are listed in
`controller.py`; `python -m hw_sim --help` lists what can be set.
"""
