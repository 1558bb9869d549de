"""The demonstration: Tamebrook Pump Works, its people, customers and about thirty orders.

Everything is invented and entered by the same deeds as a person's, so that the loader can make
nothing the screens would refuse. Dates are relative to the day of loading.
"""
