"""Drawings that show how a reading is taken, made by the program.

`ui.drawings.registry` lists them; `ui.drawings.how_to` shows one. A drawing is a function that puts
lines and words on a sheet of 320 by 200 units (`sheet`), in the colours of a `scheme`, out of
`parts` and `tools`. All are line drawings: parts in ink, cut faces hatched, what stood elsewhere
dashed; only what is measured has the accent, and it always has an arrow or a mark and words too.
They are vectors, on the screen and on paper.
"""
