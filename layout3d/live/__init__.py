"""The live view: a page of this machine alone that follows a scene's file as it is edited."""
