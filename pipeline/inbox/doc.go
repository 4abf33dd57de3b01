// Package inbox takes each file that is dropped into a device's folder exactly once. It takes the folders and a book of
// jobs, and gives claims, copies in the store and entries in the book. Events of the system are hints; the folders are
// read at the start, after events were lost, and by a timer. What a file holds is not looked at.
package inbox

// A file is taken once it has settled: its size and time have not changed for a moment, and nobody has
// it open for writing. Where that cannot be told it must rest longer, and is watched for a while after
// it was taken. One that keeps changing is tried at a limit, and taken only if it can be read whole and
// unchanged. What copiers and editors write on the way, hidden files, folders and links are left alone.
//
// A ticket, NAME.ticket.yaml or NAME.ext.ticket.yaml beside NAME.ext, goes with its file; the longer
// name is the closer one. The settling moment is also the time in which a ticket that comes just after
// its file is still found; a later one stays where it is, for the next file of that name, and after the
// limit a line says so. Taking is safe at every step, see Taker.
