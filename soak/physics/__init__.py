"""The laws: numbers in, numbers out. SI, kelvin, mass fraction. No clock, file, port or chance."""
