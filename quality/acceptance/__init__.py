"""Whether a pump is accepted: from the numbers on the test sheet to a verdict with its reasons.

Readings are kept as typed and looked over; what is odd is said, nothing is dropped. The pump's
points are brought to rated speed and density within the standard's limits, a curve is laid
through them, and flow, head, efficiency and power are judged at the guarantee point.
"""
