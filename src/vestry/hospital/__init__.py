"""The shell: pages, people, and the record, on Django. It gathers, asks the pure rooms, and stores what they say."""
