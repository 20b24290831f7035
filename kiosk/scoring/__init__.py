"""From a trial's record to its scores, validity and block scores: the only place that measures movement."""
