package execution

import (
	"errors"
	"strings"

	"govrig/rig"
	"govrig/rig/runlog"
)

// Question is something that only the person can tell or do.
type Question struct {
	// Key names the question for an answer given beforehand.
	Key string
	// Text is the question, in one or two plain sentences.
	Text string
	// Answers are the words that will do; none is any text.
	Answers []string
	// Default is taken when nobody is there; empty is no answer.
	Default string
	// Title and Brief, where set, are those of the procedure that begins with the
	// answer, for who cannot see what was written before.
	Title string
	Brief *Briefing
}

// Meant gives the answer that a person means by what was typed: the word in any
// case, or as much of its beginning as tells it from the others. Where there are
// no words to choose from, any text is an answer. ok is false for what is none.
func (q Question) Meant(typed string) (answer string, ok bool) {
	typed = strings.TrimSpace(typed)
	if typed == "" {
		return q.Default, q.Default != ""
	}
	if len(q.Answers) == 0 {
		return typed, true
	}
	for _, a := range q.Answers {
		if strings.EqualFold(a, typed) {
			return a, true
		}
		if len(typed) <= len(a) && strings.EqualFold(a[:len(typed)], typed) {
			if ok {
				return "", false // the beginning of two
			}
			answer, ok = a, true
		}
	}
	return answer, ok
}

// Choices shows the answers, each with the key that is enough in brackets:
// "[y]es, [sk]ip, [st]op".
func (q Question) Choices() string {
	var all []string
	for _, a := range q.Answers {
		key := 1
		for key < len(a) {
			if meant, ok := q.Meant(a[:key]); ok && meant == a {
				break
			}
			key++
		}
		all = append(all, "["+a[:key]+"]"+a[key:])
	}
	return strings.Join(all, ", ")
}

// ErrNotAsked is a question that nobody was there to answer.
var ErrNotAsked = errors.New("nobody is there to answer")

// Ask puts a question to the person. Meanwhile a board in real time goes on
// with the given phase; one in lockstep stands still.
func (t *Test) Ask(q Question, meanwhile rig.Phase) (string, error) {
	meanwhile.Steps = Steps(0.1)
	answer, err := t.await(q, meanwhile)
	if nobody := errors.Is(err, ErrNotAsked); nobody || err == nil {
		t.Record.Event(runlog.EventAnswer, runlog.Answer{Key: q.Key, Answer: answer, Nobody: nobody})
	}
	return answer, err
}

func (t *Test) await(q Question, meanwhile rig.Phase) (string, error) {
	switch {
	case t.Bench.Recall != nil:
		return t.recall(q, meanwhile)
	case t.Bench.Ask == nil:
		return q.orDefault("", ErrNotAsked)
	case t.Bench.Clock == nil && !t.Bench.GoesOn:
		return q.orDefault(t.Bench.Ask(t.ctx, q))
	}
	type reply struct {
		text string
		err  error
	}
	answered := make(chan reply, 1)
	go func() {
		text, err := t.Bench.Ask(t.ctx, q)
		answered <- reply{text, err}
	}()
	for {
		select {
		case r := <-answered:
			return q.orDefault(r.text, r.err)
		default:
		}
		if _, _, err := t.Play(meanwhile); err != nil {
			return "", err
		}
	}
}

// recall goes on with the given phase until the recorded answer comes.
func (t *Test) recall(q Question, meanwhile rig.Phase) (string, error) {
	for {
		if answer, ok, err := t.Bench.Recall(q); ok || err != nil {
			return answer, err
		}
		if _, _, err := t.Play(meanwhile); err != nil {
			return "", err
		}
	}
}

// orDefault gives the answer, or the default where nobody was asked.
func (q Question) orDefault(answer string, err error) (string, error) {
	if errors.Is(err, ErrNotAsked) && q.Default != "" {
		return q.Default, nil
	}
	return answer, err
}
