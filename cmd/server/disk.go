package main

// diskFree is how many bytes are free where the data lies.
func (p *program) diskFree() (uint64, error) { return freeAt(p.Data) }
