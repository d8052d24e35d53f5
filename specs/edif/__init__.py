"""EDIF 2 0 0 (ANSI/EIA-548, IEC 61690-1): netlists from drawings, and what becomes of them."""
