"""The words of what estimates and planning tell: a sentence for each kind of statement, its quantities in the reader's units."""
