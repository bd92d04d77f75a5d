"""The physics of a clutch release system: what every fault would do to every reading.

Pure functions over frozen records; pure Python and numpy. Lengths are mm, forces N, pressures MPa,
torques N mm and volumes mm3. `release_system` holds the parameters of one system, `release_chain`
the chain from the pedal pad to the friction faces, `observables` what a person can measure on it,
`predict` what a set of faults does to the readings and `likelihood` how well that explains them.
"""
