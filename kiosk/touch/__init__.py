"""Between the glass and the samples: touch capture, the one px-mm calibration, the device check.

Device units and nanoseconds come in; millimetres and seconds go out. One monotonic clock throughout.
"""
