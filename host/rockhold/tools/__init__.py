"""Records of indicators and torque tools: what their certificates say, and till when."""
