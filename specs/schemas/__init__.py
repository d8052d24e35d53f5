"""JSON Schemas of part and board files, for editors; made from the readers' own keys."""
