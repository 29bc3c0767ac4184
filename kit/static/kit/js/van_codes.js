// Which pieces a scanned code names, without the store: window.vanCodes(codes).named(sent) gives their tags, none if the list
// knows nothing of the code. How codes are written and what each name leads to comes with the list (kit/views/van_codes.py):
// here a code is only taken apart by those expressions and looked up.
(() => {
  "use strict";

  const GS = "\x1d";
  const SPACES = /[\s\x1c-\x1f\x85]+/g;
  const LONGEST = 200;

  const reader = ({ grammar, unseen }) => {
    const sort = new RegExp(grammar.sort);
    const link = new RegExp(grammar.link);
    const hidden = new RegExp(`[${unseen}]`, "g");
    const elements = grammar.elements.map(([numbers, value]) => new RegExp(`(${numbers})(${value})`, "y"));
    const numbers = new RegExp(`^(?:${grammar.elements.map(([of]) => of).join("|")})$`);
    const strip = (text) => text.replace(/^[\s\x1c-\x1f\x85]+|[\s\x1c-\x1f\x85]+$/g, "");

    // Pairs of identifier and value, or nothing if anything in the text is no element.
    const apart = (text) => {
      const pairs = [];
      let at = 0;
      while (at < text.length) {
        if (text[at] === GS && pairs.length) { at += 1; continue; }
        let found = null;
        for (const element of elements) {
          element.lastIndex = at;
          found = element.exec(text);
          if (found) break;
        }
        if (!found) return null;
        pairs.push([found[1], found[2]]);
        at += found[0].length;
      }
      return pairs.length ? pairs : null;
    };
    const each = (given) => {
      const pairs = apart(given.map((pair) => pair.join("")).join(GS));
      return pairs?.length === given.length && pairs.every(([number], n) => number === given[n][0]) ? pairs : null;
    };

    const ofLink = (text) => {
      const [, path, query] = /^https?:\/\/[^/?#]*([^?#]*)(?:\?([^#]*))?/.exec(text) ?? [];
      const parts = link.exec(path ?? "")?.[1].split("/").map(decodeURIComponent);
      if (!parts) return null;
      const asked = new Map([...new URLSearchParams(query ?? "")].filter(([number, value]) => value && numbers.test(number)));
      const pairs = [];
      for (let n = 0; n < parts.length; n += 2) pairs.push([parts[n], parts[n + 1]]);
      pairs[0][1] = pairs[0][1].padStart(grammar.padded[pairs[0][0]] ?? 0, "0");
      return each([...pairs, ...asked]);
    };

    const pairsOf = (text) => {
      if (text.startsWith("]")) return null;
      if (text.startsWith("(")) return each([...text.replace(SPACES, "").matchAll(/\((\d+)\)([^(]+)/g)].map(([, number, value]) => [number, value]));
      try {
        return text.startsWith("http") ? ofLink(text) : apart(text);
      } catch { return null; /* a broken escape in an address */ }
    };

    return (sent) => {
      let plain = strip(sent.slice(0, LONGEST).replaceAll("\0", "")).replace(sort, "");
      for (const instead of grammar.separators) plain = plain.replaceAll(instead, GS);
      const said = new Map((pairsOf(strip(plain)) ?? []).reverse());
      const read = { text: strip(plain.replaceAll(GS, " ").replace(hidden, "").replace(SPACES, " ")) };
      for (const [what, number, skipped] of grammar.means) read[what] ||= (said.get(number) ?? "").slice(skipped);
      return read;
    };
  };

  window.vanCodes = (codes) => {
    const read = reader(codes);
    const [exact, folded, own, serials] = [codes.exact, codes.folded, codes.own, codes.serials].map((names) => new Map(Object.entries(names)));
    const [least, most] = codes.grammar.prefix;

    const ofOwner = (asset) => {
      const numbers = [asset];
      for (let n = least; n <= most && n < asset.length; n += 1) if (/^\d+$/.test(asset.slice(0, n))) numbers.push(asset.slice(n));
      const known = numbers.filter((number) => own.has(number));
      return known.length ? [...new Set(known.flatMap((number) => own.get(number)))].sort() : null;
    };

    const named = (sent) => {
      const { text, asset, serial, batch } = read(sent);
      const whole = exact.get(text) ?? folded.get(text.toLowerCase());
      if (whole) return whole;
      const owned = asset ? ofOwner(asset) : null;
      if (owned) return owned;
      const small = serial.toLowerCase();
      return (serial && (serials.get(`${small}${GS}${batch.toLowerCase()}`) ?? serials.get(small))) || [];
    };
    return { named, text: (sent) => read(sent).text };
  };
})();
