"""Drawings of the tree of causes, without a screen.

`layered` is pure geometry: boxes and links to places and ways, with `rows` for the order in a row
and `spread` for the places in it. `shapes` are what a drawing is made of, `svg` writes them down.
`cards` says what a tree of the base shows, `trees` draws it.
"""
