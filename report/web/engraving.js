"use strict";
// The engraver of a page, and what is used to draw with it.
const Engraving = (() => {
	const svgNS = "http://www.w3.org/2000/svg";

	// unpack is the text that was gzipped and put into the page in base64.
	async function unpack(packed) {
		const stream = new Blob([bytes(packed.trim())]).stream().pipeThrough(new DecompressionStream("gzip"));
		return new Response(stream).text();
	}

	// bytes are those that base64 stands for.
	function bytes(text) {
		if (Uint8Array.fromBase64) return Uint8Array.fromBase64(text);
		const letters = atob(text), out = new Uint8Array(letters.length);
		for (let i = 0; i < out.length; i++) out[i] = letters.charCodeAt(i);
		return out;
	}

	// open runs the engraver's script, which is in the page, packed, or at an address of the server. It gives
	// null where there is none.
	async function open() {
		const held = document.getElementById("engraver");
		if (!held) return null;
		const script = document.createElement("script");
		if (held.href) {
			await new Promise((done, failed) => {
				script.onload = done;
				script.onerror = () => failed(new Error("it could not be fetched"));
				script.src = held.href;
				document.head.append(script);
			});
		} else {
			script.textContent = await unpack(held.textContent);
			document.head.append(script);
			held.remove();
		}
		if (!verovio.module.calledRun) await new Promise(done => { verovio.module.onRuntimeInitialized = done; });
		return new verovio.toolkit();
	}

	function element(name, className, text) {
		const e = document.createElement(name);
		if (className) e.className = className;
		if (text) e.textContent = text;
		return e;
	}

	function drawing(name, attributes, into) {
		const e = document.createElementNS(svgNS, name);
		for (const [k, v] of Object.entries(attributes)) e.setAttribute(k, v);
		into?.append(e);
		return e;
	}

	return { unpack, open, element, drawing };
})();
