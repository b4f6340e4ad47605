"""From a target carbon to segments."""
