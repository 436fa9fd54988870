// Puts the engraver into dist, gzipped, with its notice.
import { gzipSync } from 'node:zlib';
import { readFileSync, writeFileSync } from 'node:fs';

const from = new URL('node_modules/verovio/', import.meta.url);
const to = new URL('dist/', import.meta.url);
const { name, version, license, author, homepage, repository } = JSON.parse(readFileSync(new URL('package.json', from)));
const script = readFileSync(new URL(`dist/${name}-toolkit-wasm.js`, from));
// The time in the header is left at 0, so that the same package gives the same bytes.
writeFileSync(new URL('engraver.js.gz', to), gzipSync(script, { level: 9 }));
writeFileSync(new URL('NOTICE', to), `The music is engraved by ${name} ${version}, by ${author}, which is in this page unchanged.
It is free software under the licence ${license}: you may use it, change it and pass it on under the
terms of that licence, https://www.gnu.org/licenses/lgpl-3.0.html, and it comes without any warranty.
Its source: ${repository.url.replace('.git', '')}, ${homepage}.
To make this page with a changed version of it: evenhand report TAKE --engraver FILE.
`);
