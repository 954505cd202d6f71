"""Every build within the stated tolerances: worst case by proof, share that clears by drawing."""
