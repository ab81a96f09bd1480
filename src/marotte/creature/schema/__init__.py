"""The creature file's schema, a section a file. Records are frozen, in SI; every field says its unit, symbol and bounds."""
