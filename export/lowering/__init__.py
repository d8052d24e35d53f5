"""From a Netlist to Amaranth modules, and from those to the formats written."""
