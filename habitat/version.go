package habitat

// Version of the program, written into every output.
const Version = "0.1.0"
