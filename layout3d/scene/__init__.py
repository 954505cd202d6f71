"""The scene file: read, validated, described for editors."""
