// A strip for each clip: blocks hang from the crown and end where the bottom edge cuts the body.
const depth = (level) => 1 - clamp(level, 0, 1);

function prepareClips() {
  const clips = new Map();
  entries.forEach((entry, index) => {
    if (!entry.still) clips.set(entry.file, [...(clips.get(entry.file) || []), index]);
  });
  if (!clips.size) return;
  find("clips").hidden = false;
  const waiting = [...clips];
  const list = find("clip-list");
  const some = () => { // a few at a time, so that hundreds of clips do not hold up the page
    for (const [file, shots] of waiting.splice(0, 6)) list.append(clipOf(data.files[file], shots));
    if (waiting.length) later(some);
  };
  some();
}

// What the studies say of the cut between two shots, by the keys of both.
let verdictsRead = null;
function verdicts() {
  if (!verdictsRead) {
    verdictsRead = new Map();
    for (const study of data.studies) {
      for (const cut of study.cuts) {
        const pair = `${study.shots[cut.cut]?.key} ${study.shots[cut.cut + 1]?.key}`;
        if (!verdictsRead.has(pair)) verdictsRead.set(pair, [cutSign(cut), cutWords(cut)]);
      }
    }
  }
  return verdictsRead;
}

function clipOf(file, shots) {
  const words = [count(shots.length, "shot"), seconds(file.length), file.rate ? `${file.rate.toFixed(2).replace(/\.?0+$/, "")} frames a second` : "", file.timecode ? `from ${file.timecode}` : ""];
  const total = shots.reduce((sum, index) => sum + (entries[index].length || 0), 0) || 1;
  const marks = shots.slice(1).map((index, n) => verdicts().get(`${entries[shots[n]].key} ${entries[index].key}`) || null);
  const strip = stripOf(shots.map((index) => ({ index, share: (entries[index].length || 0) / total })), marks);
  return make("div", { class: "clip" },
    make("h3", { class: "strip-name" }, make("bdi", {}, file.name), make("span", {}, words.filter(Boolean).join(", "))),
    make("div", { class: "scroll", tabindex: "0", role: "group", "aria-label": `Shots of ${file.name}` }, longEnough(shots.length, strip, pathOf(file, shots))),
    marks.some(Boolean) ? signKey() : null);
}

// Many shots need room: the strip is then as long as it must be, and what is around it scrolls.
function longEnough(count, ...parts) {
  const box = make("div", { class: "long" }, ...parts);
  if (count > 60) box.style.minWidth = `${count * 9}px`;
  return box;
}

// Args: shots: index of the entry (or null) and share of the length; marks: [sign, words] after each shot.
function stripOf(shots, marks) {
  const strip = make("div", { class: "strip" });
  shots.forEach(({ index, share }, number) => {
    const entry = index === null ? null : entries[index];
    const crop = entry ? entry.readings.crop_level : null;
    const block = make("span", { class: "block" }, make("span", { class: "letters" }, entry ? entry.size_abbr || entry.size || "–" : "–"));
    block.style.height = `calc(1.3rem + (100% - 1.3rem) * ${isNumber(crop) ? depth(crop) : 0})`; // letters, then the body
    if (entry) paint(block, entry.size);
    const mark = marks[number - 1];
    const words = entry ? `Shot ${number}: ${entry.size || "not named"}, ${seconds(entry.length)}${entry.flags.length ? `, flags: ${flagParts(entry).join(", ")}` : ""}${mark ? `; the cut before it: ${mark[1]}` : ""}` : `Shot ${number}`;
    const button = make("button", { type: "button", "aria-label": words, title: words, disabled: !entry }, block,
      entry && entry.flags.length ? make("span", { class: "flagged", "aria-hidden": "true" }, "◆") : null,
      mark ? make("span", { class: "mark", "aria-hidden": "true" }, mark[0]) : null);
    button.style.flexGrow = String(Math.max(share * 1000, 0.01));
    if (entry) button.addEventListener("click", () => openLarge(index));
    strip.append(button);
  });
  return strip;
}

// Size against time: the crop level of each measured frame.
function pathOf(file, shots) {
  const height = 150, foot = 16;
  const end = file.length || Math.max(...shots.map((index) => (entries[index].start || 0) + (entries[index].length || 0)), 1);
  const y = (level) => 8 + (height - foot - 12) * (1 - clamp(level, 0, 1));
  const chart = draw("svg", { class: "chart path", role: "img", "aria-label": `Where the bottom edge cuts, against time, in ${file.name}` });
  const redraw = () => {
    const span = chart.clientWidth || 1000;
    const at = (time) => (span * time) / end; // as the blocks above
    chart.setAttribute("viewBox", `0 0 ${span} ${height}`);
    chart.replaceChildren();
    for (const [name, level] of [["crown", 1], ["shoulder", 0.818], ["hip", 0.53], ["knee", 0.285], ["sole", 0]]) {
      chart.append(draw("path", { class: "axis", d: `M0 ${y(level)}H${span}` }), draw("text", { x: 3, y: y(level) + 4 }, name));
    }
    for (const index of shots) {
      const known = entries[index].samples.filter(([time, level]) => isNumber(time) && isNumber(level));
      if (known.length > 1) chart.append(draw("path", { class: "line", d: line(known.map(([time, level]) => [at(time), y(level)])) }));
      for (const [time, level] of known) chart.append(draw("circle", { class: "pt", cx: at(time), cy: y(level), r: known.length > 40 ? 1.5 : 3 }));
    }
    chart.append(draw("text", { x: 2, y: height - 1 }, "0 s"), draw("text", { x: span - 2, y: height - 1, "text-anchor": "end" }, seconds(end)));
  };
  new ResizeObserver(redraw).observe(chart);
  return chart;
}
