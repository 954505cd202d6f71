"""Results as text, tables and JSON; strings only, nothing is printed here."""
