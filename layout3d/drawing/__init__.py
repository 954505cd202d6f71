"""Line pictures in SVG, drawn from the primitives alone: no graphics library, no kernel."""
