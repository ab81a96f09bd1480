"""What sits in the head: solids, where they are, what overlaps, what comes out, whose hand goes in, what runs through the neck."""
