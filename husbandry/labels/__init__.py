"""Labels on paper: papers in mm, text that fits, codes that read, PDF and preview from one geometry. No Django."""
