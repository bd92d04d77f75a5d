"""The window of Pull Once: the only home of Qt."""

from ui.immortal import keep_singletons

keep_singletons()
