"""The life of a part: off the car, judged, sent out, counted back, on the car again."""
