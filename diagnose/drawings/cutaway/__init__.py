"""The release system in section, from the pedal to the flywheel, as the release model has it.

`stance` asks the model where everything stands at a pad travel, `measures` gives the figures that
are drawn to scale and the fixed proportions of the rest, `places` puts both together in mm along
the shaft. `clutch`, `release`, `linkage`, `pedal` and `joined` draw the parts, `lens` the faces
enlarged, `notes`, `dimensions` and `names` what is written. `faults` says what a cause moves,
`figures` what is told in numbers, `layout` where there is room, `scene` composes a picture and
`paper` writes it as SVG. No screen is needed for any of it.
"""
