"""Legal changes of one thing in a scene that mend a finding, each built and checked before it is told."""
