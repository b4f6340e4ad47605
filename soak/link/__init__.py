"""The wire: Modbus frames to a controller."""
