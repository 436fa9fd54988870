// A second reading of scores, to check answers against: its own reading of the XML, with pitches and
// values from verovio and keys and intervals from tonal. For each question it prints its own answer, or null.
import createVerovioModule from 'verovio/wasm';
import { VerovioToolkit } from 'verovio/esm';
import fs from 'fs';
import { register } from 'node:module';

// The packages of @tonaljs/tonal 4.10.0 name files that they do not ship: take those they do.
register('data:text/javascript,' + encodeURIComponent(`
	export async function resolve(name, context, next) {
		if (!name.startsWith('@tonaljs/')) return next(name, context);
		return { ...await next(name + '/dist/index.mjs', context), format: 'module' };
	}`), 'file://' + process.cwd() + '/');
const { Interval, Key, Note, Chord } = await import('@tonaljs/tonal');

const tk = new VerovioToolkit(await createVerovioModule());
tk.setOptions({ breaks: 'none' });
console.warn = console.error = () => {};

// parse makes a tree of elements: { name, attrs, text, kids }.
function parse(xml) {
	const root = { name: '', attrs: {}, text: '', kids: [] };
	const stack = [root];
	const unescape = s => s.replace(/&lt;/g, '<').replace(/&gt;/g, '>').replace(/&quot;/g, '"').replace(/&apos;/g, "'").replace(/&amp;/g, '&');
	for (const m of xml.matchAll(/<!--[\s\S]*?-->|<!\[CDATA\[([\s\S]*?)\]\]>|<\?[\s\S]*?\?>|<![^>]*>|<(\/?)([\w:.-]+)((?:\s+[\w:.-]+\s*=\s*(?:"[^"]*"|'[^']*'))*)\s*(\/?)>|([^<]+)/g)) {
		const [, cdata, close, name, attrs, empty, text] = m;
		const top = stack[stack.length - 1];
		if (cdata !== undefined) top.text += cdata;
		else if (text !== undefined) top.text += unescape(text);
		else if (name === undefined) continue;
		else if (close) { if (stack.length > 1) stack.pop(); }
		else {
			const e = { name, attrs: {}, text: '', kids: [] };
			for (const a of attrs.matchAll(/([\w:.-]+)\s*=\s*(?:"([^"]*)"|'([^']*)')/g)) e.attrs[a[1]] = unescape(a[2] ?? a[3]);
			top.kids.push(e);
			if (!empty) stack.push(e);
		}
	}
	return root;
}
const all = (e, name) => e.kids.filter(k => k.name === name);
const one = (e, name) => e && e.kids.find(k => k.name === name);
const text = (e, name) => (one(e, name)?.text ?? '').trim();

// read lists the bars of the first piano part (or of all parts, one staff each).
function read(xml) {
	const score = one(parse(xml), 'score-partwise');
	if (!score) return null;
	let parts = all(score, 'part');
	const staves = p => Math.max(1, ...all(p, 'measure').flatMap(m => all(m, 'attributes').map(a => +text(a, 'staves') || 1)), ...all(p, 'measure').flatMap(m => all(m, 'note').map(n => +text(n, 'staff') || 1)));
	const piano = parts.find(p => staves(p) > 1);
	if (piano) parts = [piano];
	const bars = [];
	const notes = new Map();
	let shift = 0;
	for (const part of parts) {
		let divisions = 1;
		const measures = e => e.kids.filter(k => k.name === 'measure').flatMap(m => [m, ...measures(m)]); // some are not closed
		measures(part).forEach((m, i) => {
			const bar = bars[i] ??= { number: m.attrs.number, notes: [], words: [], dynamics: [], wedges: [], keys: [], times: [], clefs: [], metronomes: [], pedals: [], barlines: [], length: 0 };
			let at = 0, last = 0;
			for (const e of m.kids) {
				const staff = (+text(e, 'staff') || 1) + shift;
				switch (e.name) {
				case 'attributes':
					if (one(e, 'divisions')) divisions = +text(e, 'divisions');
					for (const k of all(e, 'key')) bar.keys.push({ at, fifths: +text(k, 'fifths'), mode: text(k, 'mode'), part });
					for (const t of all(e, 'time')) bar.times.push({ beats: +text(t, 'beats'), unit: +text(t, 'beat-type'), symbol: t.attrs.symbol });
					for (const c of all(e, 'clef')) bar.clefs.push({ at, staff: (+c.attrs.number || 1) + shift, sign: text(c, 'sign'), line: +text(c, 'line'), up: +text(c, 'clef-octave-change') });
					break;
				case 'backup': at -= +text(e, 'duration') / divisions; break;
				case 'forward': at += +text(e, 'duration') / divisions; break;
				case 'barline': bar.barlines.push(e); break;
				case 'direction': {
					const place = at + (+text(e, 'offset') || 0) / divisions;
					const words = [];
					for (const t of all(e, 'direction-type')) for (const d of t.kids) {
						if (d.name === 'words') words.push(d.text);
						if (d.name === 'dynamics') bar.dynamics.push({ at: place, text: d.kids.map(k => k.name === 'other-dynamics' ? k.text.trim() : k.name).join('') });
						if (d.name === 'wedge') bar.wedges.push({ at: place, type: d.attrs.type });
						if (d.name === 'pedal') bar.pedals.push(d.attrs.type);
						if (d.name === 'metronome') bar.metronomes.push([text(d, 'beat-unit'), !!one(d, 'beat-unit-dot'), text(d, 'per-minute')]);
					}
					if (words.length) bar.words.push(words.join(' ').replace(/\s+/g, ' ').trim());
					break;
				}
				case 'note': {
					const grace = !!one(e, 'grace'), chord = !!one(e, 'chord');
					const length = grace ? 0 : (+text(e, 'duration') || 0) / divisions;
					const n = { id: e.attrs.id, e, staff, voice: text(e, 'voice'), at: chord ? last : at, length, grace, chord, rest: one(e, 'rest'), bar, index: bar.notes.length };
					const p = one(e, 'pitch');
					if (p) Object.assign(n, { step: text(p, 'step'), alter: +text(p, 'alter') || 0, octave: +text(p, 'octave') });
					n.marks = all(e, 'notations').flatMap(x => x.kids).flatMap(x => ['articulations', 'ornaments'].includes(x.name) ? x.kids.map(k => k.name) : [x.name]);
					n.notations = all(e, 'notations').flatMap(x => x.kids);
					for (const d of n.notations.filter(x => x.name === 'dynamics')) bar.dynamics.push({ at: n.at, text: d.kids.map(k => k.name).join('') });
					bar.notes.push(n);
					notes.set(n.id, n);
					if (!chord) { last = at; at += length; }
					break;
				}
				}
				bar.length = Math.max(bar.length, at);
			}
		});
		shift += staves(part);
	}
	let time, key;
	for (const bar of bars) {
		time = bar.times.at(-1) ?? time;
		key = bar.keys[0] ?? key;
		Object.assign(bar, { time, key });
	}
	return { bars, notes, staves: shift, transposed: xml.includes('<transpose') };
}

const accidental = n => n > 0 ? '#'.repeat(n) : 'b'.repeat(-n);
const valueNames = { breve: 'breve', whole: 'semibreve', half: 'minim', quarter: 'crotchet', eighth: 'quaver', '16th': 'semiquaver', '32nd': 'demisemiquaver', '64th': 'hemidemisemiquaver' };
const values = Object.entries({ whole: 4, half: 2, quarter: 1, eighth: 0.5, '16th': 0.25, '32nd': 0.125, '64th': 0.0625 });
const numbers = { 1: 'unison', 2: 'second', 3: 'third', 4: 'fourth', 5: 'fifth', 6: 'sixth', 7: 'seventh', 8: 'octave' };
const qualities = { P: 'perfect', M: 'major', m: 'minor', A: 'augmented', d: 'diminished' };

// engraved reads what verovio made of a score, which is MEI: the written pitch, duration and dots of each
// note by its id.
function engraved() {
	const notes = new Map();
	const walk = (e, chord) => {
		if (e.name === 'note') {
			const sign = one(e, 'accid')?.attrs ?? {};
			const accid = sign['accid.ges'] ?? sign.accid ?? e.attrs['accid.ges'] ?? e.attrs.accid ?? '';
			const own = e.attrs.dur ? e : chord ?? e;
			notes.set(e.attrs['xml:id'], {
				step: (e.attrs.pname ?? '').toUpperCase(), dur: own.attrs.dur, dots: +(own.attrs.dots ?? 0),
				alter: { s: 1, f: -1, n: 0, x: 2, ss: 2, ff: -2 }[accid] ?? 0,
			});
		}
		for (const k of e.kids) walk(k, e.name === 'chord' ? e : chord);
	};
	walk(parse(tk.getMEI()));
	return notes;
}

// spelled is the name of a note: letter and accidental as verovio has them, octave as written.
function spelled(score, n) {
	const v = score.engraved?.get(n.id);
	return v?.step ? v.step + accidental(v.alter) + n.octave : n.step + accidental(n.alter) + n.octave;
}

function majorTonic(fifths) { return Key.majorTonicFromKeySignature(accidental(fifths)) || 'C'; }

function signature(fifths) {
	const scale = Key.majorKey(majorTonic(fifths)).scale.filter(n => n.length > 1);
	const order = fifths > 0 ? 'FCGDAEB' : 'BEADGCF';
	return scale.sort((a, b) => order.indexOf(a[0]) - order.indexOf(b[0]));
}

const staffOf = (score, hand) => hand === 'right' ? 1 : hand === 'left' ? score.staves : 0;
const barOf = (score, number) => score.bars.find(b => b.number === number);
const beatLength = t => t.beats > 3 && t.beats % 3 === 0 ? 12 / t.unit : 4 / t.unit;
const full = t => 4 * t.beats / t.unit;
const skip = (score, bar) => bar === score.bars[0] && bar.length < full(bar.time) ? full(bar.time) - bar.length : 0;

// placed says what is wrong with the place of a note, '' for nothing. Durations within tuplets are
// rounded by some writers, by less than a tenth of a beat in all.
function placed(score, q, where) {
	const n = score.notes.get(where.note);
	if (!n) return 'no note ' + where.note;
	if (n.bar.number !== where.bar) return 'bar is ' + n.bar.number;
	if (!n.bar.time) return '';
	const beat = 1 + (skip(score, n.bar) + n.at) / beatLength(n.bar.time);
	if (Math.abs(beat - where.beat) > 0.1) return 'beat is ' + beat;
	if (score.staves > 1 && where.hand && score.staves <= 2 && n.staff !== staffOf(score, where.hand)) return 'staff is ' + n.staff;
	return '';
}

// aloneAt reports whether a note is the only one that begins where it does on its staff.
const aloneAt = n => n.bar.notes.filter(o => o.staff === n.staff && o.at === n.at && !o.grace).length === 1;

function ending(score) {
	if (score.strokes) return score.strokes;
	const on = new Map();
	let held = [], before = [];
	const strokes = [];
	for (const e of tk.renderToTimemap({ includeRests: false })) {
		for (const id of e.off || []) on.delete(id);
		for (const id of e.on || []) on.set(id, score.notes.get(id.replace(/-rend\d+$/, '')));
		if (e.on) strokes.push({ at: e.qstamp, notes: [...on.values()].filter(n => n && !n.grace) });
	}
	return score.strokes = strokes;
}

const names = {
	staccato: 'staccato', accent: 'accent', 'strong-accent': 'strong accent', tenuto: 'tenuto', staccatissimo: 'staccatissimo', fermata: 'fermata',
	'trill-mark': 'trill', turn: 'turn', mordent: 'mordent', 'inverted-mordent': 'mordent', arpeggiate: 'spread chord',
};
const loud = ['ppp', 'pp', 'p', 'mp', 'mf', 'f', 'ff', 'fff'];
const count = n => ['no', 'one', 'two', 'three', 'four', 'five', 'six', 'seven', 'eight', 'nine', 'ten', 'eleven', 'twelve'][n] ?? String(n);

// same is what the notes of a bar are.
const same = b => b.notes.filter(n => !one(n.e, 'cue') && n.e.attrs['print-object'] !== 'no')
	.map(n => [n.staff, n.at.toFixed(4), n.length.toFixed(4), n.rest ? 'r' : n.step + n.alter + n.octave, text(n.e, 'type'), all(n.e, 'dot').length, n.grace, all(n.e, 'tie').some(t => t.attrs.type === 'stop')].join()).sort().join(';');

const answers = {
	'key signature': (s, q) => {
		const f = s.bars[0].key?.fifths ?? 0;
		if (/How many/.test(q.text)) return f === 0 ? 'none' : count(Math.abs(f)) + (f > 0 ? ' sharps' : ' flats');
		return f === 0 ? 'none' : signature(f).join(' ');
	},
	key: (s, q) => {
		const f = s.bars[0].key?.fifths ?? 0;
		if (s.bars.some(b => b.keys.some(k => k.fifths !== f))) return 'the key signature changes';
		const strokes = ending(s), last = strokes.at(-1).notes;
		const bass = last.map(n => spelled(s, n)).sort((a, b) => Note.midi(a) - Note.midi(b))[0];
		const tonic = Note.pitchClass(bass), major = majorTonic(f), minor = Key.majorKey(major).minorRelative;
		const used = s.bars.flatMap(b => b.notes).filter(n => n.step).map(n => n.step + accidental(n.alter));
		const raised = Note.transpose(minor, 'M7').replace(/\d/, ''), own = Note.transpose(major, 'M7').replace(/\d/, '');
		const times = x => used.filter(n => n === x).length;
		let mode = '';
		if (tonic === major && times(own) > times(raised)) mode = 'major';
		if (tonic === minor && times(raised) > 0) mode = 'minor';
		if (!mode) return `neither: bass ${tonic}`;
		return /major or in a minor/.test(q.text) ? mode : `${tonic} ${mode}`;
	},
	'relative key': (s, q) => {
		const [tonic, mode] = answers.key(s, { text: '' }).split(' ');
		return mode === 'major' ? Key.majorKey(tonic).minorRelative + ' minor' : Key.minorKey(tonic).relativeMajor + ' major';
	},
	'time signature': (s, q) => {
		const t = s.bars[0].time;
		const unit = valueNames[values.find(([, v]) => v === 4 / t.unit)[0]];
		if (/What is the/.test(q.text)) return `${t.beats}/${t.unit}`;
		if (/mean/.test(q.text)) return `${t.beats} ${unit}s in a bar`;
		if (/How many crotchet/.test(q.text)) return t.unit === 4 ? String(t.beats) : null;
		const parts = full(t) / beatLength(t);
		if (/simple or compound/.test(q.text)) return (beatLength(t) * t.unit === 4 ? 'simple ' : 'compound ') + { 2: 'duple', 3: 'triple', 4: 'quadruple' }[parts];
		return `beat ${1 + skip(s, s.bars[0]) / beatLength(t)}`;
	},
	clef: (s, q) => {
		const c = s.bars[0].clefs.find(c => c.staff === staffOf(s, q.where.hand) && c.at === 0) ?? s.bars[0].clefs[0];
		return { G2: 'treble', F4: 'bass', C3: 'alto', C4: 'tenor' }[c.sign + c.line];
	},
	'first note': (s, q) => {
		const n = s.notes.get(q.where.note);
		const first = s.bars.flatMap(b => b.notes).filter(o => o.staff === n.staff && o.step).sort((a, b) => s.bars.indexOf(a.bar) - s.bars.indexOf(b.bar) || a.at - b.at);
		if (first[0] !== n || first[1] && first[1].bar === n.bar && first[1].at === n.at) return 'another note is first: ' + first[0].id;
		return spelled(s, n).replace(/-?\d+$/, '');
	},
	'note name': (s, q) => {
		const n = s.notes.get(q.where.note);
		return aloneAt(n) ? spelled(s, n).replace(/-?\d+$/, '') : 'another note begins there';
	},
	'note value': (s, q) => {
		const n = s.notes.get(q.where.note);
		if (!aloneAt(n)) return 'another note begins there';
		const attr = s.engraved?.get(n.id);
		const type = attr?.dur ? { breve: 'breve', 1: 'whole', 2: 'half', 4: 'quarter', 8: 'eighth', 16: '16th', 32: '32nd', 64: '64th' }[attr.dur] : text(n.e, 'type');
		const dots = attr?.dur ? attr.dots : all(n.e, 'dot').length;
		if (/in all/.test(q.text)) {
			const rest = s.bars.flatMap(b => b.notes);
			const next = rest.slice(rest.indexOf(n) + 1).find(o => o.voice === n.voice && o.step === n.step && o.octave === n.octave && o.alter === n.alter && all(o.e, 'tie').some(t => t.attrs.type === 'stop'));
			return String(n.length + next.length);
		}
		if (/how many crotchet/.test(q.text)) return String(n.length);
		return (dots ? 'dotted ' : '') + valueNames[type];
	},
	rest: (s, q) => {
		const n = s.notes.get(q.where.note);
		if (!n.rest) return 'no rest';
		const t = n.bar.time, whole = n.rest.attrs.measure === 'yes' || n.length === full(t) && ['', 'whole'].includes(text(n.e, 'type')) && !one(n.e, 'dot');
		if (/how long/.test(q.text)) return whole ? `${t.beats} ${valueNames[values.find(([, v]) => v === 4 / t.unit)[0]]}s` : 'no bar rest';
		return whole ? 'whole bar rest' : (one(n.e, 'dot') ? 'dotted ' : '') + valueNames[text(n.e, 'type')] + ' rest';
	},
	interval: (s, q) => {
		const a = s.notes.get(q.where.note), b = s.notes.get(q.to.note);
		const fault = placed(s, q, q.to);
		if (fault) return fault;
		if (a.at === b.at) {
			if (a.bar.notes.filter(o => o.staff === a.staff && o.at === a.at && !o.grace).length !== 2) return 'not two notes';
		} else {
			const between = a.bar.notes.filter(o => o.staff === a.staff && o.at > a.at && o.at < b.at);
			if (between.length || !aloneAt(a) || !aloneAt(b)) return 'other notes between';
		}
		let [x, y] = [spelled(s, a), spelled(s, b)];
		if (Note.midi(x) > Note.midi(y)) [x, y] = [y, x];
		const i = Interval.get(Interval.distance(x, y));
		return /by its number/.test(q.text) ? numbers[i.num] : `${qualities[i.q]} ${numbers[i.num]}`;
	},
	sign: (s, q) => {
		const bar = q.where.note ? s.notes.get(q.where.note).bar : barOf(s, q.where.bar);
		if (/pedal sign/.test(q.text)) return bar.pedals.includes('start') ? 'right pedal' : null;
		if (/two dots/.test(q.text)) {
			if (!bar.barlines.some(b => one(b, 'repeat')?.attrs.direction === 'backward')) return null;
			if (!/from bar|beginning/.test(q.answer)) return 'repeat';
			const sign = (b, way) => b.barlines.some(l => one(l, 'repeat')?.attrs.direction === way);
			let i = s.bars.indexOf(bar);
			while (i > 0 && !sign(s.bars[i], 'forward') && !sign(s.bars[i - 1], 'backward')) i--;
			return sign(s.bars[i], 'forward') ? 'play again from bar ' + s.bars[i].number : 'play again from the beginning';
		}
		if (/bracket/.test(q.text)) return bar.barlines.some(b => one(b, 'ending')?.attrs.number === '1') ? 'first time bar' : null;
		const n = s.notes.get(q.where.note);
		if (/before/.test(q.text) && !/upright/.test(q.text)) return text(n.e, 'accidental').replace('-', ' ');
		if (/curved line/.test(q.text)) {
			const tied = n.notations.some(x => x.name === 'tied' && x.attrs.type === 'start') || all(n.e, 'tie').some(t => t.attrs.type === 'start');
			const slurred = n.notations.some(x => x.name === 'slur' && x.attrs.type === 'start');
			return tied && slurred ? 'both' : tied ? 'tie' : slurred ? 'slur' : null;
		}
		const chord = n.bar.notes.filter(o => o.staff === n.staff && o.at === n.at);
		const marks = [...new Set(chord.flatMap(o => o.marks).filter(m => names[m]))];
		return marks.length === 1 ? names[marks[0]] : marks.join();
	},
	term: (s, q) => {
		const word = q.text.match(/"([^"]*)"/)[1];
		const bar = q.where.bar === s.bars[0].number ? s.bars[0] : barOf(s, q.where.bar);
		return bar.words.some(w => w.toLowerCase().includes(word.toLowerCase())) ? q.answer : null;
	},
	tempo: (s, q) => {
		if (/In which bar/.test(q.text)) {
			const word = /slow/.test(q.text) ? /\b(rit(ard(ando)?)?|rall(entando)?|slentando|cédez|ralentir)\b/i : /\b(accel(erando)?|string(endo)?|affrett(ando)?|pressez)\b/i;
			const found = s.bars.filter(b => b.words.some(w => word.test(w)));
			return found.length === 1 ? 'bar ' + found[0].number : found.length + ' bars';
		}
		if (/figure/.test(q.text)) {
			const [unit, dot, figure] = s.bars.find(b => b.metronomes.length).metronomes[0];
			return `${figure} ${dot ? 'dotted ' : ''}${valueNames[unit]}s in a minute`;
		}
		return answers.term(s, q);
	},
	dynamics: (s, q) => {
		const bar = barOf(s, q.where.bar);
		const used = s.bars.flatMap(b => b.dynamics.map(d => ({ ...d, bar: b })));
		const rank = d => loud.indexOf(d.text);
		if (/loudest/.test(q.text)) return used.reduce((a, b) => rank(b) > rank(a) ? b : a).text;
		if (/quietest/.test(q.text)) return used.reduce((a, b) => rank(b) < rank(a) ? b : a).text;
		if (/in order/.test(q.text)) {
			const from = s.bars.indexOf(bar), to = s.bars.indexOf(barOf(s, q.to.bar));
			const seen = new Map();
			for (let i = from; i <= to; i++) for (const d of s.bars[i].dynamics) seen.set(i * 1000 + d.at, d.text);
			return [...seen].sort((a, b) => a[0] - b[0]).map(e => e[1]).join(' ');
		}
		if (/hairpin|loudness/.test(q.text)) return bar.wedges.some(w => w.type === 'crescendo') === bar.wedges.some(w => w.type === 'diminuendo') ? 'unclear' :
			bar.wedges.some(w => w.type === 'crescendo') ? 'crescendo' : 'diminuendo';
		const sign = q.text.match(/the sign (\S+) /)[1];
		return s.bars.some(b => b.number === q.where.bar && b.dynamics.some(d => d.text === sign)) ? q.answer : null;
	},
	form: (s, q) => {
		if (/pattern/.test(q.text)) {
			const [a, b] = [q.where, q.to].map(w => barOf(s, w.bar).notes.filter(n => s.staves < 2 || n.staff === staffOf(s, w.hand)));
			const far = [...new Set(a.map((n, i) => Interval.get(Interval.distance(n.step + n.octave, b[i].step + b[i].octave)).num))];
			if (a.length !== b.length || far.length !== 1) return null;
			return /How much/.test(q.text) ? `a ${numbers[Math.abs(far[0])]} ${far[0] > 0 ? 'higher' : 'lower'}` : 'a sequence';
		}
		const from = s.bars.indexOf(barOf(s, q.where.bar)), n = q.to ? s.bars.indexOf(barOf(s, q.to.bar)) - from + 1 : 1;
		const content = s.content ??= s.bars.map(same), want = content.slice(from, from + n).join('|');
		const again = s.bars.map((_, i) => i).filter(i => i !== from && content.slice(i, i + n).join('|') === want);
		return again.length === 1 ? (n > 1 ? `bars ${s.bars[again[0]].number} to ${s.bars[again[0] + n - 1].number}` : `bar ${s.bars[again[0]].number}`) : again.length + ' times';
	},
	cadence: (s, q) => {
		const strokes = ending(s), key = answers.key(s, { text: '' }).split(' ');
		const pcs = st => [...new Set(st.notes.map(n => Note.pitchClass(spelled(s, n))))];
		const bass = st => st.notes.map(n => spelled(s, n)).sort((a, b) => Note.midi(a) - Note.midi(b))[0];
		const tonic = [...Chord.getChord('M', key[0]).notes, ...Chord.getChord('m', key[0]).notes];
		let i = strokes.length - 1;
		while (i >= 0 && pcs(strokes[i]).every(p => tonic.includes(p))) i--;
		const five = Note.pitchClass(Note.transpose(key[0], 'P5')), four = Note.pitchClass(Note.transpose(key[0], 'P4'));
		for (const [root, kind, type] of [[five, 'perfect', '7'], [four, 'plagal', key[1] === 'major' ? 'M' : 'm']]) {
			const chord = Chord.getChord(type, root).notes;
			const span = [];
			for (let j = i; j >= 0 && span.length < 12 && pcs(strokes[j]).every(p => chord.includes(p)); j--) span.push(strokes[j]);
			if (span.length && span.some(x => Note.pitchClass(bass(x)) === root) && span.flatMap(pcs).includes(chord[1])) return kind;
		}
		return null;
	},
};

const out = {};
for (const [name, { xml, questions }] of Object.entries(JSON.parse(fs.readFileSync(0, 'utf8')))) {
	const score = read(xml);
	if (!score) { out[name] = null; continue; }
	if (tk.loadData(xml)) score.engraved = engraved();
	out[name] = questions.map(q => {
		try {
			if (q.where.note) {
				const fault = placed(score, q, q.where);
				if (fault) return 'place: ' + fault;
			}
			return answers[q.kind](score, q);
		} catch (e) { return 'fault: ' + e.message; }
	});
}
await new Promise(done => process.stdout.write(JSON.stringify(out), done));
