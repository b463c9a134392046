"""The cited equations: one published relation, one function.

A *quantity*, in every docstring below, is a number, an array of shape ``(cases, months)`` or a
recording number (:class:`pcompare.recording.Recorded`); all three give the same result. Each axis
of an array has length 1 or its full length. The unit stands in square brackets, ``[-]`` where there
is none, and a name has the same unit in all modules. Text arguments such as ``metal="Fe"`` choose
a formula and are plain strings.

Concentrations and doses are per litre of plant flow. Dissolved amounts are in mmol/L, taken equal
to mmol per kg of water: fresh water at 25 degC holds 0.997 kg/L.

Nothing is imported here; a module registers its equations when it is imported itself.
"""
