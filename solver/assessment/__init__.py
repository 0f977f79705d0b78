"""From hourly series to the quantities the trade judges by; knows nothing but series."""
