"""Who is on the network: units found by their mDNS adverts."""
