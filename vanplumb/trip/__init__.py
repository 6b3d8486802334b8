"""Days and nights: levels, hot water, waiting, battery, fuel, frost and chance."""
