"""Qt item models over frozen records: they translate, and decide nothing."""
