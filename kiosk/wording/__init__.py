"""Words: the only place that rounds numbers and turns codes into sentences."""
