package batch

import (
	"context"
	"iter"
	"sync"
)

// ahead is how many items a worker may be ahead of the output.
const ahead = 4

// Run answers items on several workers and hands the answers over in the order
// of the items. It stops at the first error of deliver, or when ctx ends, and
// returns it. At most a few items a worker are held at a time. When Run returns
// early, the source may still be waiting for its input; it ends with it.
func Run[A any](ctx context.Context, items iter.Seq[Item], workers int, answer func(context.Context, Item) A, deliver func(Item, A) error) error {
	type job struct {
		item   Item
		answer chan A
	}
	ctx, cancel := context.WithCancel(ctx)
	defer cancel()
	todo := make(chan job)
	queue := make(chan job, ahead*workers) // bounds what is held
	go func() {
		defer close(queue)
		defer close(todo)
		for item := range items {
			j := job{item, make(chan A, 1)}
			select {
			case queue <- j:
			case <-ctx.Done():
				return
			}
			select {
			case todo <- j:
			case <-ctx.Done():
				return
			}
		}
	}()
	var wg sync.WaitGroup
	for range workers {
		wg.Go(func() {
			for {
				select {
				case j, ok := <-todo:
					if !ok {
						return
					}
					j.answer <- answer(ctx, j.item)
				case <-ctx.Done():
					return
				}
			}
		})
	}
	err := deliverAll(ctx, queue, func(j job) error {
		select {
		case a := <-j.answer:
			return deliver(j.item, a)
		case <-ctx.Done():
			return ctx.Err()
		}
	})
	cancel()
	wg.Wait()
	return err
}

// deliverAll takes jobs until there are no more, or one fails.
func deliverAll[J any](ctx context.Context, queue <-chan J, deliver func(J) error) error {
	for {
		select {
		case j, ok := <-queue:
			if !ok {
				return ctx.Err()
			}
			if err := deliver(j); err != nil {
				return err
			}
		case <-ctx.Done():
			return ctx.Err()
		}
	}
}
