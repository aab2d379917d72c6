"""Closed-form mechanics of printed parts: pure functions of floats or arrays.

Conventions of every module in this room
- Arguments are keyword-only, floats or NumPy arrays that broadcast against each other; the result
  is a float for floats and an array of the broadcast shape for arrays. Nothing is copied, nothing
  loops over candidates, so open grids (``np.ix_``) stay cheap.
- Units are N, mm, MPa, N mm, rad, degC, s and g unless the name carries another unit.
- Functions assume valid input and do not defend. The range in which a formula holds is stated in
  its docstring and told by a ``valid_...`` predicate that returns booleans of the same shape; the
  caller refuses where it is false. Table look-ups hold their end value outside the table.
- Textbook formulas name book, edition and place. They were written from memory of those books
  (grade B) and checked by independent derivation, limits and finite elements; see
  ``tests/validation``. Own derivations say "derived here"; own estimates say "estimate".
"""
