"""What was found, said in chips, pins and wires."""
