"""What lies between the fly frame and the roof: bridles, beams, hoists, load combinations."""
