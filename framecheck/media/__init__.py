"""Files and arrays become pictures: finding inputs, reading stills, taking off black bars."""
