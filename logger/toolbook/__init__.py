"""The tools one owns: identity, profile, accuracy and calibration."""
