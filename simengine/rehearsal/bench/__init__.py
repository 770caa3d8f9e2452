"""How a cot answers to hands: pressures, oxygen, suction and gas, and what is seen of each part."""
