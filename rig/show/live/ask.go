package live

import (
	"context"
	"errors"
	"slices"

	"govrig/rig/execution"
)

// Asker puts a question to a person, as a bench's Ask does.
type Asker func(context.Context, execution.Question) (string, error)

// asked is a question that waits.
type asked struct {
	question execution.Question
	number   int
	reply    chan string
}

// Ask puts questions on the page as well as to another asker; the first answer
// counts. Where the other has nobody to ask, the question waits on the page as
// long as a browser has it open. The other has to heed the end of its context.
func (p *Page) Ask(other Asker) Asker {
	return func(ctx context.Context, q execution.Question) (string, error) {
		ctx, cancel := context.WithCancel(ctx)
		elsewhere := make(chan answer, 1)
		go func() {
			text, err := other(ctx, q)
			elsewhere <- answer{text, err}
			close(elsewhere)
		}()
		mine := p.put(q)
		text, err := p.first(ctx, mine, elsewhere)
		p.withdraw(mine)
		cancel()
		for range elsewhere { // until the other has let go of the terminal
		}
		return text, err
	}
}

// AskHere puts a question on the page only, and waits until somebody answers it
// there.
func (p *Page) AskHere(ctx context.Context, q execution.Question) (string, error) {
	mine := p.put(q)
	defer p.withdraw(mine)
	select {
	case text := <-mine.reply:
		return text, nil
	case <-ctx.Done():
		return "", ctx.Err()
	}
}

type answer struct {
	text string
	err  error
}

// first waits for the first answer.
func (p *Page) first(ctx context.Context, mine *asked, elsewhere <-chan answer) (string, error) {
	for nobody := false; ; {
		here, changed := p.watched()
		if nobody && !here {
			return "", execution.ErrNotAsked
		}
		select {
		case text := <-mine.reply:
			return text, nil
		case a, ok := <-elsewhere:
			if ok && !errors.Is(a.err, execution.ErrNotAsked) {
				return a.text, a.err
			}
			nobody, elsewhere = true, nil
		case <-changed:
		case <-ctx.Done():
			return "", ctx.Err()
		}
	}
}

// put shows a question.
func (p *Page) put(q execution.Question) *asked {
	p.mu.Lock()
	defer p.mu.Unlock()
	a := &asked{question: q, number: p.version + 1, reply: make(chan string, 1)}
	p.asked = a
	p.state.Question = &Question{Number: a.number, Text: q.Text, Answers: append([]string{}, q.Answers...), Default: q.Default, Title: q.Title}
	if b := q.Brief; b != nil {
		p.state.Question.Brief = &Brief{b.Purpose, b.Connect, b.Moves, b.Hurts}
	}
	p.tell()
	return a
}

// withdraw takes a question off the page.
func (p *Page) withdraw(a *asked) {
	p.mu.Lock()
	defer p.mu.Unlock()
	if p.asked == a {
		p.asked, p.state.Question = nil, nil
		p.tell()
	}
}

// watched reports whether a browser has the page open, and gives a channel that
// is closed when one comes or goes.
func (p *Page) watched() (here bool, changed <-chan struct{}) {
	p.mu.Lock()
	defer p.mu.Unlock()
	return len(p.clients) > 0, p.changed
}

// answer takes an answer from a browser. ok is false when it is not one to the
// question that waits.
func (p *Page) answer(number int, text string) (ok bool) {
	p.mu.Lock()
	defer p.mu.Unlock()
	a := p.asked
	if a == nil || a.number != number || text == "" {
		return false
	}
	if len(a.question.Answers) > 0 && !slices.Contains(a.question.Answers, text) {
		return false
	}
	select {
	case a.reply <- text:
	default: // it has been answered already
	}
	p.asked, p.state.Question = nil, nil
	p.tell()
	return true
}
