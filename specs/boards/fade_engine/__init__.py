"""The fade engine's microprogram, its table, its EEPROMs and a cue list: data of its board."""
