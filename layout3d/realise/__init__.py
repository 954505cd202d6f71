"""The neutral model made into B-rep solids and meshes; heavy libraries load here, late."""
