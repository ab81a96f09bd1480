"""The creature file: text -> tree with places -> expand -> records of SI floats, with the ledger beside them."""
