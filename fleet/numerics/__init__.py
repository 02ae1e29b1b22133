"""Arrays in, arrays out: frames, outlines, poses, corners, proportions, rates and tracking."""
