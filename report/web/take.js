"use strict";
// The score of a take, engraved in the page, and what the pencil writes on it.
(async () => {
	const { unpack, element, drawing } = Engraving;
	const music = JSON.parse(await unpack(document.getElementById("music").textContent));
	const by = id => document.getElementById(id);
	const score = by("score"), margin = by("margin");
	const zooms = [24, 30, 36, 42, 50, 60, 72, 86];
	let zoom = innerWidth < 500 ? 1 : 3, toolkit = null, systems = [], heads = new Map(), drawn = 0, lettered = false;

	// --- The engraver -----------------------------------------------------------------------------

	// engrave draws the score, a system at a time, as wide as there is room (or as said, for paper).
	function engrave(width) {
		width ||= Math.floor(score.clientWidth);
		drawn = score.dataset.width = width;
		const scale = zooms[zoom];
		toolkit.setOptions({
			scale, pageWidth: Math.max(100, Math.round(width * 100 / scale)), pageHeight: 100, adjustPageHeight: true,
			breaks: "auto", header: "none", footer: "none", svgViewBox: true, svgRemoveXlink: true,
			pageMarginTop: 30, pageMarginBottom: 10, pageMarginLeft: 40, pageMarginRight: 10, justifyVertically: false,
		});
		if (systems.length) toolkit.redoLayout();
		else if (!toolkit.loadData(music.score)) throw new Error("the engraver cannot read this music");
		const parser = new DOMParser();
		systems = [];
		for (let page = 1; page <= toolkit.getPageCount(); page++) {
			const drawn = toolkit.renderToSVG(page).replace(/<style[^]*?<\/style>/g, style => (letters(style), ""));
			const svg = document.importNode(parser.parseFromString(drawn, "image/svg+xml").documentElement, true);
			svg.setAttribute("aria-hidden", "true");
			const system = element("div", "system"), staves = element("div", "staves"), lane = element("div", "lane");
			staves.append(svg);
			system.append(staves, lane);
			systems.push({ system, staves, lane, svg });
		}
		score.replaceChildren(...systems.map(s => s.system));
		heads = new Map();
		for (const s of systems) for (const g of s.svg.querySelectorAll("g.note")) heads.set(g.id, { g, s });
		mark();
	}

	// letters loads the engraver's font for signs within text, such as the note of a metronome mark.
	function letters(style) {
		const font = lettered ? null : /font-family: '([^']+)';\s*src: (url\([^)]+\))/.exec(style);
		if (!font) return;
		lettered = true;
		new FontFace(font[1], font[2]).load().then(f => document.fonts.add(f), () => {});
	}

	// --- Where notes are --------------------------------------------------------------------------

	// place is where the head of a note is on its system, in pixels of the layout.
	function place(note) {
		const found = heads.get(music.notes[note].id);
		if (!found) return null;
		const box = (found.g.querySelector(".notehead") || found.g).getBoundingClientRect();
		const paper = found.s.staves.getBoundingClientRect();
		return { s: found.s, x: box.left - paper.left + box.width / 2, y: box.top - paper.top + box.height / 2, w: box.width, h: box.height };
	}

	// --- What the pencil writes -------------------------------------------------------------------

	function mark() {
		for (const s of systems) {
			const { width, height } = s.staves.getBoundingClientRect();
			s.width = width;
			s.rows = [];
			s.pencil = drawing("svg", { class: "pencil", viewBox: `0 0 ${width} ${height}`, preserveAspectRatio: "none", "aria-hidden": "true" }, null);
			s.staves.append(s.pencil);
			s.height = height;
		}
		margin.replaceChildren();
		music.marks.forEach((m, i) => {
			if (m.from < 0) return margin.append(button(m, i, word(m)));
			// Those of single notes first, so that they have the room next to the staves.
			if (single.has(m.sign)) spot(m, i);
		});
		music.marks.forEach((m, i) => { if (m.from >= 0 && !single.has(m.sign)) stretch(m, i); });
	}

	const single = new Set(["ring", "caret", "struck", "stop"]);
	const word = m => (m.pass > 1 ? `${m.pass}× ` : "") + m.text;

	// button is a mark that opens its evidence.
	function button(m, i, text) {
		const b = element("button", "mark " + m.sign);
		b.type = "button";
		b.dataset.mark = i;
		b.dataset.sign = m.sign;
		b.setAttribute("aria-expanded", "false");
		b.setAttribute("aria-label", m.says);
		if (m.from >= 0) b.dataset.note = music.notes[m.from].id;
		if (text) b.append(element("span", "", text));
		b.addEventListener("click", () => slip(m, b));
		return b;
	}

	// spot is a mark at one note: a ring round its head, and a word in the lane.
	function spot(m, i) {
		const at = place(m.from);
		if (!at) return;
		const lead = (y, dashed) => drawing("path", { d: `M${at.x} ${y}V${at.s.height}`, class: dashed ? "lead dashed" : "lead" }, at.s.pencil);
		let text = word(m);
		switch (m.sign) {
		case "ring": ring(at, i); lead(at.y + 0.95 * at.h, false); break;
		case "caret": lead(at.y + 0.9 * at.h, true); text = "^" + text; break;
		case "stop": text = ""; break;
		}
		const b = button(m, i, text);
		if (m.sign === "stop") {
			const x = at.x - 1.1 * at.w - 2;
			const top = at.s.svg.querySelector("g.staff").getBoundingClientRect().top - at.s.staves.getBoundingClientRect().top;
			drawing("path", { d: wavering(x, top - 6, x, at.s.height, i), class: "stopped" }, at.s.pencil);
			sit(at.s, b, x, x);
			return;
		}
		sit(at.s, b, at.x, at.x);
	}

	// stretch is a mark below several notes, on as many systems as they go over.
	function stretch(m, i) {
		let from = place(m.from), to = place(m.to) || from;
		if (!from) return;
		if (m.sign === "back") [from, to] = order(to, from);
		const first = systems.indexOf(from.s), last = systems.indexOf(to.s);
		for (let k = first; k <= Math.max(first, last); k++) {
			const s = systems[k];
			const edge = s.svg.querySelector(".measure .note, .measure .rest")?.getBoundingClientRect().left - s.staves.getBoundingClientRect().left || 0;
			const x1 = k === first ? from.x - from.w : edge, x2 = k === last ? to.x + to.w : s.width - 4;
			const b = k === first ? button(m, i, word(m)) : element("div", "mark more " + m.sign);
			s.lane.append(b);
			const w = Math.max(b.offsetWidth, x2 - x1, 20);
			const line = drawing("svg", { class: "line", viewBox: `0 0 ${w} 10`, preserveAspectRatio: "none", "aria-hidden": "true" });
			drawing("path", { d: lines(m.sign, w, i, k === first, k >= last), "vector-effect": "non-scaling-stroke" }, line);
			b.prepend(line);
			sit(s, b, x1, x2, true);
		}
	}

	function order(a, b) {
		const i = systems.indexOf(a.s), j = systems.indexOf(b.s);
		return i < j || i === j && a.x <= b.x ? [a, b] : [b, a];
	}

	// sit finds room for a mark in the first row of the lane where there is any.
	function sit(s, b, x1, x2, wide) {
		s.lane.append(b);
		const w = Math.max(b.offsetWidth, wide ? x2 - x1 : 0), middle = wide ? x1 + w / 2 : (x1 + x2) / 2;
		const left = Math.min(Math.max(0, middle - w / 2), Math.max(0, s.width - w)), right = left + w;
		let row = s.rows.findIndex(taken => taken.every(([a, z]) => right + 3 <= a || left >= z + 3));
		if (row < 0) row = s.rows.push([]) - 1;
		s.rows[row].push([left, right]);
		b.style.left = 100 * left / s.width + "%";
		if (wide) b.style.width = 100 * Math.min(w, s.width - left) / s.width + "%";
		b.style.top = 1.75 * row + "rem";
		s.lane.style.height = 1.75 * s.rows.length + 0.2 + "rem";
	}

	// --- Strokes, none quite straight ---------------------------------------------------------------

	const unsteady = seed => () => { seed = (seed * 16807 + 11) % 2147483647; return seed / 2147483647 - 0.5; };

	function ring(at, i) {
		const r = unsteady(i + 7), rx = Math.max(0.95 * at.w, 6), ry = Math.max(1.05 * at.h, 6);
		let d = "";
		for (let k = 0; k <= 26; k++) {
			const a = -2 + k * 2 * Math.PI / 24, f = 1 + 0.07 * r() + 0.004 * k;
			d += (k ? "L" : "M") + (at.x + f * rx * Math.cos(a)).toFixed(1) + " " + (at.y + f * ry * Math.sin(a)).toFixed(1);
		}
		drawing("path", { d, class: "ring" }, at.s.pencil);
	}

	function wavering(x1, y1, x2, y2, seed) {
		const r = unsteady(seed + 3);
		let d = `M${x1} ${y1}`;
		for (let k = 1; k <= 8; k++) d += `L${(x1 + (x2 - x1) * k / 8 + r()).toFixed(1)} ${(y1 + (y2 - y1) * k / 8).toFixed(1)}`;
		return d;
	}

	function lines(sign, w, seed, begins, ends) {
		const r = unsteady(seed + 5);
		if (sign === "scribble") {
			let d = "M1 6";
			for (let x = 4, up = true; x < w - 2; x += 4 + 1.4 * r(), up = !up) d += `L${x.toFixed(1)} ${(up ? 2.5 + 2 * r() : 8 + 2 * r()).toFixed(1)}`;
			return d;
		}
		let d = `M1 5L${w - 1} 5`;
		if (sign === "hurrying" && ends) d += `M${w - 8} 1.5L${w - 1} 5L${w - 8} 8.5`;
		if (sign === "dragging" && begins || sign === "back" && begins) d += "M8 1.5L1 5L8 8.5";
		if (sign === "back" && ends) d += `M${w - 1} 5V0`;
		if (sign === "stretch" && begins) d += "M1 5V1";
		if (sign === "stretch" && ends) d += `M${w - 1} 5V1`;
		return d;
	}

	// --- Evidence -----------------------------------------------------------------------------------

	let opened = null; // the mark whose slip is shown, and the slip

	// slip shows under the system why a mark is there, or takes it away.
	function slip(m, b) {
		const same = opened?.b === b;
		shut();
		if (same) return;
		const paper = element("div", "slip");
		paper.id = "slip";
		paper.setAttribute("role", "region");
		paper.setAttribute("aria-label", "Why this mark is here");
		paper.tabIndex = -1;
		paper.append(element("p", "pencil", m.says[0].toUpperCase() + m.says.slice(1)));
		for (const f of m.findings) {
			const found = by("finding-" + f);
			if (!found) continue;
			for (const p of found.children) if (p.textContent.trim().toLowerCase() !== m.says.toLowerCase()) paper.append(p.cloneNode(true));
		}
		const row = element("p", "");
		if (m.at >= 0) {
			const hear = element("button", "", "Hear it from here");
			hear.type = "button";
			hear.addEventListener("click", () => play("take", Math.max(0, m.at - 1.2)));
			row.append(hear);
		}
		const close = element("button", "", "Put away");
		close.type = "button";
		close.addEventListener("click", () => shut(true));
		row.append(close);
		paper.append(row);
		(b.closest(".system") || margin).after(paper);
		b.setAttribute("aria-expanded", "true");
		b.setAttribute("aria-controls", "slip");
		opened = { b, paper };
		paper.focus({ preventScroll: true });
		paper.scrollIntoView({ block: "nearest" });
	}

	function shut(back) {
		if (!opened) return;
		const { b, paper } = opened;
		opened = null;
		paper.remove();
		b.setAttribute("aria-expanded", "false");
		b.removeAttribute("aria-controls");
		if (back) b.focus();
	}

	document.addEventListener("keydown", e => { if (e.key === "Escape" && opened) shut(true); });

	// --- Notes by hand --------------------------------------------------------------------------------

	let at = -1; // the note that was chosen
	const struckFor = new Map(music.struck.toReversed().map(k => [k.note, k])); // the first where there are more

	// choose goes to a note, tells of it and sounds it.
	function choose(i) {
		at = i;
		for (const e of score.querySelectorAll(".chosen")) e.classList.remove("chosen");
		const n = music.notes[i], found = heads.get(n.id);
		found?.g.classList.add("chosen");
		found?.s.system.scrollIntoView({ block: "nearest" });
		const said = music.marks.filter(m => m.from === i && m.to === i).map(m => m.says);
		by("told").textContent = n.says + "." + (said.length ? " " + said.join(". ") + "." : "");
		const k = struckFor.get(i);
		Sound.note(n.key, k ? k.velocity : 64, 0.8);
	}

	score.addEventListener("keydown", e => {
		if (e.target !== score) return;
		const step = { ArrowRight: 1, ArrowLeft: -1, Home: -Infinity, End: Infinity }[e.key];
		if (step) choose(Math.min(Math.max(0, at + step), music.notes.length - 1));
		else if ((e.key === "Enter" || e.key === " ") && at >= 0) choose(at);
		else return;
		e.preventDefault();
	});

	score.addEventListener("click", e => {
		const g = e.target.closest("g.note");
		if (!g) return;
		const i = music.notes.findIndex(n => n.id === g.id.replace(/-\d+$/, ""));
		if (i >= 0) choose(i);
	});

	// --- Playing along ----------------------------------------------------------------------------------

	let stop = null;
	const heard = { take: music.struck, written: written() };
	const buttons = { take: by("hear-take"), written: by("hear-written") };
	const labels = { take: buttons.take.textContent, written: buttons.written.textContent };

	// written is the score at the tempo of the take, so that the two can be compared.
	function written() {
		const right = music.struck.filter(k => k.note >= 0).map(k => [music.notes[k.note].onset, k.on]);
		const first = right[0], last = right.at(-1);
		const pace = right.length > 1 && last[0] > first[0] ? (last[1] - first[1]) / (last[0] - first[0]) : 0.75;
		return music.notes.map((n, i) => ({ on: n.onset * pace, length: Math.max(0.08, 0.95 * n.length * pace), key: n.key, velocity: 64, note: i }));
	}

	function play(what, from) {
		stop?.();
		const keys = heard[what];
		if (from === undefined) {
			const k = at >= 0 ? keys.find(k => k.note === at) : null;
			from = Math.max(0, (k || keys[0] || { on: 0 }).on - 0.05);
		}
		buttons[what].textContent = "Stop";
		buttons[what].setAttribute("aria-pressed", "true");
		stop = Sound.play(keys, from, +by("speed").value, k => here(keys[k].note), () => {
			stop = null;
			here(-1);
			buttons[what].textContent = labels[what];
			buttons[what].setAttribute("aria-pressed", "false");
		});
	}

	for (const what of ["take", "written"]) {
		buttons[what].addEventListener("click", () => {
			const playing = buttons[what].getAttribute("aria-pressed") === "true";
			if (playing) stop();
			else play(what);
		});
	}

	// here points with a small arrowhead over the staves at the place that sounds.
	let pointer = null;
	function here(note) {
		if (note < 0) {
			if (!stop) { pointer?.remove(); pointer = null; }
			return;
		}
		const p = place(note);
		if (!p) return;
		if (!pointer) pointer = drawing("path", { class: "here" });
		pointer.setAttribute("d", `M${p.x - 5} 0h10l-5 9z`);
		if (pointer.parentNode !== p.s.pencil) {
			p.s.pencil.append(pointer);
			const box = p.s.system.getBoundingClientRect();
			if (box.top < 0 || box.bottom > innerHeight) p.s.system.scrollIntoView({ block: "center", behavior: matchMedia("(prefers-reduced-motion: reduce)").matches ? "auto" : "smooth" });
		}
	}

	// --- Size and paper -----------------------------------------------------------------------------------

	function resize(to) {
		zoom = Math.min(Math.max(0, to), zooms.length - 1);
		by("smaller").disabled = zoom === 0;
		by("larger").disabled = zoom === zooms.length - 1;
		again();
	}

	// again engraves anew and leaves open what was open.
	function again(width) {
		const open = opened?.b.dataset.mark;
		shut();
		engrave(width);
		if (open !== undefined) document.querySelector(`button[data-mark="${open}"]`)?.click();
	}

	let waiting = 0, kept = 2;
	addEventListener("resize", () => {
		clearTimeout(waiting);
		waiting = setTimeout(() => { if (toolkit && Math.abs(score.clientWidth - drawn) > 8) again(); }, 150);
	});
	// On paper the score is as wide as A4 leaves room. Marks are placed in parts of that width, so that
	// they stay where they are when the paper is another one.
	addEventListener("beforeprint", () => {
		if (!toolkit) return;
		kept = zoom;
		zoom = 2;
		shut();
		score.style.width = "700px";
		engrave(700);
		score.style.width = "";
	});
	addEventListener("afterprint", () => { if (toolkit) { zoom = kept; engrave(); } });
	by("smaller").addEventListener("click", () => resize(zoom - 1));
	by("larger").addEventListener("click", () => resize(zoom + 1));

	by("tools").hidden = false;
	toolkit = await Engraving.open();
	if (toolkit) {
		engrave();
		score.tabIndex = 0;
	} else {
		by("waiting").textContent = by("waiting").dataset.none;
		document.querySelector(".inwords").open = true;
	}
	document.documentElement.dataset.ready = Math.round(performance.now());
})().catch(e => {
	document.getElementById("score").textContent = `The music cannot be drawn here (${e.message}). The marks are below in words.`;
	document.querySelector(".inwords").open = true;
	document.documentElement.dataset.ready = "failed";
});
