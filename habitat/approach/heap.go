package approach

// lesser is what a heap can order.
type lesser[T any] interface{ less(T) bool }

// heap is a binary heap, the least first. The one of the standard library makes
// an interface value of each entry, which costs more than the whole search.
type heap[T lesser[T]] []T

func (h *heap[T]) push(x T) {
	a := append(*h, x)
	i := len(a) - 1
	for i > 0 {
		up := (i - 1) / 2
		if !x.less(a[up]) {
			break
		}
		a[i] = a[up]
		i = up
	}
	a[i] = x
	*h = a
}

func (h *heap[T]) pop() T {
	a := *h
	top, x := a[0], a[len(a)-1]
	a = a[:len(a)-1]
	*h = a
	if len(a) == 0 {
		return top
	}
	i := 0
	for {
		down := 2*i + 1
		if down >= len(a) {
			break
		}
		if down+1 < len(a) && a[down+1].less(a[down]) {
			down++
		}
		if !a[down].less(x) {
			break
		}
		a[i] = a[down]
		i = down
	}
	a[i] = x
	return top
}
