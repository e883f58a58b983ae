"""Folding, punching and unfolding paper, exactly. Knows no web framework.

Lengths are in sheet widths, x points right and y up. A spec (``geometry.spec``) says which sheet is folded how and
punched where; everything else a question shows is derived from it.
"""
