package picture

// drawNames sets the names of the larger named streams along their course.
func drawNames(p *page, taken []box) {}
