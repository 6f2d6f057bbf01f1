"""The trade's arithmetic: pure formulas, no input or output, no column names.

Wherever a formula is used on columns, the same function takes a number, a NumPy array or a polars
expression. Every public function ends its docstring with a ``Source:`` line; ``docs/method.md`` is
generated from those docstrings. Where convention splits the trade, the convention is a named argument.
"""
