package main

import (
	"fmt"
	"strings"

	"evenhand/cmd/evenhand/screen"
	"evenhand/exam"
	"evenhand/exam/questions"
)

// question is the one at hand, nil where there is none.
func (x *hall) question() *questions.Question {
	all := x.sitting.Asked[x.sitting.At]
	if x.sitting.Phase != exam.Answering || x.sitting.Step >= len(all) {
		return nil
	}
	return &all[x.sitting.Step]
}

// answeringHere says what is asked for an answer.
func (x *hall) answeringHere(st *screen.Standing, p *exam.Part, part *examPart) {
	if q := x.question(); q != nil {
		st.Words, st.Choices = q.Text, q.Choices
		st.Round = fmt.Sprintf("%d of %d", x.sitting.Step+1, len(x.sitting.Asked[x.sitting.At]))
		return
	}
	if part.item == nil {
		st.Words = titleOf(p)
		st.More = []string{"This cannot be asked here: the teacher asks, and marks it; s goes on."}
		return
	}
	st.Words, st.Choices = part.item.Ask, part.item.Choices
	if part.item.Shown {
		st.Music = part.item.Melody
	}
	if x.hearing != nil {
		x.hearing.stand(st)
	}
}

// ask asks the question at hand, which the page shows by itself, or begins an ear test.
func (x *hall) ask() {
	x.doubt = ""
	if item := x.parts[x.sitting.At].item; item != nil {
		x.hearing = newHearingEar(x, item)
		x.hearing.start()
	}
}

// reply takes an answer that was chosen or typed. What is neither right nor one of the choices may only
// be worded in a way that is not known here: it is asked for once more.
func (x *hall) reply(text string) {
	var a *exam.Reply
	var choices []string
	q, item := x.question(), (*examPart)(nil)
	if x.sitting.Phase == exam.Answering {
		item = x.parts[x.sitting.At]
	}
	switch {
	case q != nil:
		a, choices = answerTo(q, text), q.Choices
	case item != nil && item.item != nil && len(item.item.Choices) > 0:
		v := item.item.JudgeAnswer(text)
		a, choices = earReply(item.item, text, v), item.item.Choices
	default:
		x.say("nothing is asked that words could answer")
		return
	}
	n, figure := choiceNumber(text, len(choices))
	switch {
	case a.Share > 0:
	case figure && n < len(choices):
		x.reply(choices[n])
		return
	case figure || strings.TrimSpace(text) == "":
		x.say("there is no choice %q: choose 1 to %d, or answer in words", text, len(choices))
		return
	case !isChoice(text, choices) && x.doubt != text:
		x.doubt = text
		x.say("%q is not understood: choose 1 to %d, or say it in other words; the same again is taken as the answer", text, len(choices))
		return
	}
	x.happen(exam.Event{Kind: exam.WasAnswered, Part: x.sitting.At, Reply: a})
}

// choiceNumber reads an answer that is a figure and no word: of a choice, from 0.
func choiceNumber(text string, choices int) (int, bool) {
	var n int
	text = strings.TrimSpace(text)
	if len(text) != 1 || text[0] < '0' || text[0] > '9' || choices == 0 {
		return 0, false
	}
	n = int(text[0]-'0') - 1
	if n < 0 {
		n = choices
	}
	return n, true
}

func isChoice(text string, choices []string) bool {
	for _, c := range choices {
		if strings.EqualFold(strings.TrimSpace(text), c) {
			return true
		}
	}
	return false
}

func answerTo(q *questions.Question, given string) *exam.Reply {
	a := &exam.Reply{Asked: q.Text, Where: placeName(q.Where), Given: given, Wanted: q.Answer}
	if q.Right(given) {
		a.Share = 1
	}
	if q.Because != "" {
		a.Said = []string{q.Because}
	}
	return a
}

func placeName(p questions.Place) string {
	if p.Bar == "" {
		return ""
	}
	where := "bar " + p.Bar
	if p.Beat > 0 {
		where += fmt.Sprintf(", beat %g", p.Beat)
	}
	if p.Hand != "" {
		where += ", " + p.Hand + " hand"
	}
	return where
}

// spoken takes the teacher's judgement of an answer that was given aloud.
func (x *hall) spoken(share float64) {
	a := &exam.Reply{Share: share, Teacher: true}
	switch q := x.question(); {
	case x.sitting.Phase != exam.Answering:
	case q != nil:
		a.Asked, a.Where, a.Wanted = q.Text, placeName(q.Where), q.Answer
	case x.parts[x.sitting.At].item != nil:
		a.Asked, a.Wanted = x.parts[x.sitting.At].item.Ask, x.parts[x.sitting.At].item.Answer
	}
	x.happen(exam.Event{Kind: exam.WasAnswered, Part: x.sitting.At, Reply: a})
}
