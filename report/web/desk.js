"use strict";
// The music desk: the bars being played, engraved, and what the pencil writes as it is played. A line of
// bars stays until it is played; then the next is laid out. The margin is ticked bar by bar.
(() => {
	const by = id => document.getElementById(id);
	const score = by("score"), margin = by("margin"), told = by("told"), title = by("title");
	const { element, drawing } = Engraving;
	const signs = { ring: "", caret: "^", stroke: "" };
	const barWidth = 330, scale = 46; // pixels that a bar wants, and the size of the staff
	let toolkit = null, loading = null, take = null, bars = [], shown = null;

	// --- What the server tells ----------------------------------------------------------------------

	async function begin(what) {
		const mine = take = what;
		toolkit = null;
		bars = [];
		shown = null;
		title.textContent = what.title;
		told.textContent = "";
		margin.replaceChildren();
		score.replaceChildren();
		by("key").hidden = !what.score;
		document.body.dataset.state = "playing";
		if (!what.score) return;
		const ready = await (loading ||= Engraving.open().catch(() => loading = null)); // tried again with the next take
		if (take !== mine || !ready?.loadData(what.score)) return;
		toolkit = ready;
		draw();
	}

	function change(changed) {
		for (const b of changed) bars[b.at] = b;
		for (const b of changed) tick(b);
		draw();
	}

	function over(end) {
		document.body.dataset.state = "over";
		told.replaceChildren("The take is over. ");
		if (!end.take) return;
		const a = element("a", "button", "See how it went");
		a.href = "/takes/" + end.take;
		told.append(a);
	}

	// --- The margin ---------------------------------------------------------------------------------

	const word = m => signs[m.sign] + m.text;

	// tick writes a bar into the margin: once it is played a tick, or its marks.
	function tick(b) {
		let line = margin.querySelector(`[data-bar="${b.at}"]`);
		if (b.state === "" && !b.marks.length) return line?.remove();
		if (!line) {
			line = element("li");
			line.dataset.bar = b.at;
			const next = [...margin.children].find(other => +other.dataset.bar > b.at);
			margin.insertBefore(line, next || null);
		}
		line.dataset.state = b.state;
		const name = element("span", "number", b.number + (b.pass > 1 ? ` (${b.pass}×)` : ""));
		line.replaceChildren(name);
		for (const m of b.marks) {
			const s = element("span", "mark " + m.sign, word(m));
			s.dataset.note = m.note;
			line.append(" ", s);
		}
		if (b.state === "done" && !b.marks.length) line.append(" ", element("span", "ticked", "✓"));
		line.setAttribute("aria-label", `Bar ${b.number}: ` + (b.marks.map(said).join(", ") || (b.state === "done" ? "right" : "being played")));
	}

	const said = m => ({ ring: m.text, caret: m.text + " left out", stroke: m.text + " too many" })[m.sign];

	// --- The music ----------------------------------------------------------------------------------

	// line is the line of written bars that holds the one being played, or the last one played.
	function line() {
		const now = bars.find(b => b?.state === "now") || bars.filter(Boolean).at(-1);
		const at = now ? now.sheet : 0, per = Math.max(1, Math.floor(score.clientWidth / barWidth));
		const first = at - at % per;
		return { first, last: first + per - 1, per };
	}

	function draw() {
		if (!toolkit || !take?.score) return;
		const want = line();
		if (!shown || shown.first !== want.first || shown.per !== want.per) engrave(want);
		pencil();
	}

	function engrave(want) {
		toolkit.setOptions({
			scale, pageWidth: Math.max(100, Math.round(score.clientWidth * 100 / scale)), pageHeight: 100, adjustPageHeight: true,
			breaks: "none", header: "none", footer: "none", svgViewBox: true, svgRemoveXlink: true, mnumInterval: 1,
			pageMarginTop: 40, pageMarginBottom: 10, pageMarginLeft: 10, pageMarginRight: 10,
		});
		toolkit.select({ measureRange: `${want.first + 1}-${want.last + 1}` });
		toolkit.redoLayout();
		const drawn = toolkit.renderToSVG(1).replace(/<style[^]*?<\/style>/g, "");
		const svg = document.importNode(new DOMParser().parseFromString(drawn, "image/svg+xml").documentElement, true);
		svg.setAttribute("aria-hidden", "true");
		const system = element("div", "system"), staves = element("div", "staves"), lane = element("div", "lane");
		staves.append(svg);
		system.append(staves, lane);
		score.replaceChildren(system);
		shown = { ...want, staves, lane, svg, measures: [...svg.querySelectorAll("g.measure")], pencil: null };
	}

	// pencil writes the marks of the bars that are shown below the staves, each under its note.
	function pencil() {
		const paper = shown.staves.getBoundingClientRect();
		shown.pencil?.remove();
		shown.pencil = drawing("svg", { class: "pencil", viewBox: `0 0 ${paper.width} ${paper.height}`, preserveAspectRatio: "none", "aria-hidden": "true" }, shown.staves);
		shown.lane.replaceChildren();
		const rows = [];
		for (const b of bars) {
			if (!b || b.sheet < shown.first || b.sheet > shown.last) continue;
			if (b.state === "now") here(b, paper);
			if (b.state !== "") for (const m of b.marks) mark(m, paper, rows);
		}
		shown.lane.style.height = 1.75 * Math.max(1, rows.length) + "rem";
	}

	// here is a pencil line over the bar being played.
	function here(b, paper) {
		const bar = shown.measures[b.sheet - shown.first], staff = bar?.querySelector("g.staff");
		if (!staff) return;
		const box = staff.getBoundingClientRect(), x = box.left - paper.left, y = Math.max(3, bar.getBoundingClientRect().top - paper.top - 12);
		drawing("path", { class: "now", d: `M${x} ${y + 5}V${y}H${x + box.width}V${y + 5}` }, shown.pencil);
	}

	function mark(m, paper, rows) {
		const head = shown.svg.querySelector("#" + CSS.escape(m.note) + " .notehead");
		if (!head) return;
		const box = head.getBoundingClientRect(), x = box.left - paper.left + box.width / 2, y = box.top - paper.top + box.height / 2;
		if (m.sign === "ring") drawing("ellipse", { class: "ring", cx: x, cy: y, rx: 0.95 * box.width, ry: 1.15 * box.height }, shown.pencil);
		drawing("path", { class: m.sign === "caret" ? "lead dashed" : "lead", d: `M${x} ${y + 1.2 * box.height}V${paper.height}` }, shown.pencil);
		const s = element("span", "mark " + m.sign);
		s.append(element("span", "", word(m)));
		shown.lane.append(s);
		const left = Math.min(Math.max(0, x - s.offsetWidth / 2), Math.max(0, paper.width - s.offsetWidth)), right = left + s.offsetWidth;
		let row = rows.findIndex(taken => taken.every(([a, z]) => right + 3 <= a || left >= z + 3));
		if (row < 0) row = rows.push([]) - 1;
		rows[row].push([left, right]);
		s.style.left = left + "px";
		s.style.top = 1.75 * row + "rem";
	}

	// --- The line to the server -----------------------------------------------------------------------

	const source = new EventSource("/desk/events");
	const listen = (name, does) => source.addEventListener(name, e => does(JSON.parse(e.data)));
	listen("waiting", () => { document.body.dataset.state = "waiting"; });
	listen("take", begin);
	listen("bars", change);
	listen("over", over);
	source.onerror = () => { told.textContent = "The server is not to be reached; it is tried again."; };
	source.onopen = () => { told.textContent = ""; };

	let wide = score.clientWidth;
	new ResizeObserver(() => {
		if (score.clientWidth === wide) return;
		wide = score.clientWidth;
		shown = null;
		draw();
	}).observe(score);

	// A tablet on the music desk is not to go dark while somebody plays.
	const awake = () => { if (!document.hidden) navigator.wakeLock?.request("screen").catch(() => {}); };
	document.addEventListener("visibilitychange", awake);
	awake();
})();
