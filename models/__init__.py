"""The recogniser's weights, as a manifest and the code that puts them together. No weights are kept here."""
