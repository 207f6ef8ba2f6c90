"""Records of bench measurements, and files of them with units in the header."""
