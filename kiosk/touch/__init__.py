"""From the touch panel to samples: touch capture, the px-mm calibration, the device check.

Device units and nanoseconds come in; millimetres and seconds go out. One monotonic clock throughout.
"""
