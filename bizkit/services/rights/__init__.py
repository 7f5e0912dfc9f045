"""Rights sold and rights held: papers on file, clearance, grants, certificates, renewals, persons."""
