// Studies of sequences: the strip with a sign at each cut, the cuts in words, pairs side by side.
const verdictSigns = { "comfortable": "•", "too similar": "=", "very large": "≫", "not judged": "?" };

function prepareStudies() {
  if (!data.studies.length) return;
  find("studies").hidden = false;
  for (const study of data.studies) find("study-list").append(studyOf(study));
}

function studyOf(study) {
  const known = study.shots.map((shot) => (byKey.has(shot.key) ? byKey.get(shot.key) : null));
  const lengths = study.shots.map((shot) => (isNumber(shot.length) ? shot.length : 1));
  const total = lengths.reduce((sum, length) => sum + length, 0) || 1;
  const marks = study.cuts.map((cut) => [cutSign(cut), cutWords(cut)]);
  const judged = study.cuts.filter((cut) => cut.verdict !== "comfortable" || cut.line_crossed === "yes");
  const part = make("div", {}, make("h3", {}, make("bdi", {}, study.name), ` `),
    make("p", { class: "quiet" }, `${count(study.shots.length, "shot")}, ${count(study.cuts.length, "cut")}, ${judged.length} to look at; shots are counted from 0`),
    make("div", { class: "scroll", tabindex: "0", role: "group", "aria-label": `Shots of ${study.name}` }, longEnough(known.length, stripOf(known.map((index, n) => ({ index, share: lengths[n] / total })), marks))),
    signKey());
  if (study.pairs.length) part.append(make("h3", {}, "Matching angles"), make("p", { class: "lead" }, "Yellow lines are the eyes, blue ones the crown, white ones the nose; dashed where the other side has them, mirrored from left to right."), ...study.pairs.map(pairOf));
  if (judged.length) part.append(make("h3", {}, "Cuts to look at"), ...judged.map((cut) => cutRow(cut, known)));
  return part;
}

const signKey = () => make("p", { class: "strip-key" }, make("span", {}, "Under each cut:"),
  ...[...Object.entries(verdictSigns), ["the line may be crossed", "⤫"]].map(([word, sign]) => make("span", {}, make("b", {}, sign), ` ${word}`)));
const cutSign = (cut) => (cut.line_crossed === "yes" ? "⤫" : verdictSigns[cut.verdict] || "?");
const cutWords = (cut) => [cut.verdict, cut.why, cut.line_crossed === "yes" ? ["the line may be crossed", cut.line_note].filter(Boolean).join(": ") : "", cut.advice].filter(Boolean).join("; ");

function cutRow(cut, known) {
  const words = [make("p", {}, make("span", { class: "verdict" }, `${cutSign(cut)} Shot ${cut.cut} to ${cut.cut + 1}: ${cut.verdict}`)), make("p", {}, cut.why)];
  if (cut.line_crossed === "yes") words.push(make("p", { class: "off" }, ["The line may be crossed", cut.line_note].filter(Boolean).join(": ")));
  if (cut.advice) words.push(make("p", { class: "quiet" }, cut.advice));
  return make("div", { class: "cutrow" }, smallFrame(known[cut.cut]), smallFrame(known[cut.cut + 1]), make("div", {}, ...words));
}

function smallFrame(index, extra = null) {
  const link = make("a", { href: index === null ? "#sheet" : `#${entries[index].key}`, "aria-label": index === null ? "Not on this page" : nameOf(entries[index]) });
  const frame = make("span", { class: "frame" });
  const image = index === null ? null : cardOf(index).querySelector("img");
  if (image) frame.append(make("img", { src: image.src, alt: "", width: image.width, height: image.height, loading: "lazy" }));
  if (image) frame.style.aspectRatio = `${image.getAttribute("width")} / ${image.getAttribute("height")}`;
  else frame.append(make("span", { class: "blank" }, "no picture"));
  if (extra) frame.append(extra);
  link.append(frame);
  if (index !== null) link.addEventListener("click", (event) => { event.preventDefault(); openLarge(index); });
  return link;
}

// Eye line and crown of each side, solid, and where the other side has them, dashed.
function pairOf(pair) {
  const one = pair.one === null ? null : byKey.get(pair.one), other = pair.other === null ? null : byKey.get(pair.other);
  const title = `${pair.person_one || "?"} and ${pair.person_other || "?"}, ${pair.kind}: ${pair.matches === "yes" ? "they match" : "they do not match"}`;
  const box = make("div", { class: "match" }, make("p", {}, make("span", { class: pair.matches === "yes" ? "verdict" : "off" }, title)), pairNames(one, other),
    make("div", { class: "pair" }, smallFrame(one ?? null, pairLines(one, other)), smallFrame(other ?? null, pairLines(other, one))));
  const rows = pair.measures.map((measure) => make("tr", {}, make("th", { scope: "row" }, measure.name),
    ...["one", "other", "difference"].map((side) => make("td", { class: "num" }, isNumber(measure[side]) ? measureWords(measure, side) : "–")),
    make("td", { class: measure.matches === "no" ? "off" : "" }, { yes: "matches", no: "off" }[measure.matches] || "not told")));
  box.append(make("div", { class: "scroll narrow", tabindex: "0", role: "group", "aria-label": "Measures of the pair" }, make("table", {}, make("thead", {}, make("tr", {}, ...["measure", "left", "right", "difference", ""].map((word, n) => make(word ? "th" : "td", { scope: word ? "col" : null, class: word && n ? "num" : null }, word)))), make("tbody", {}, ...rows))));
  if (pair.advice) box.append(make("p", {}, pair.advice));
  if (pair.notes) box.append(make("p", { class: "quiet" }, pair.notes));
  return box;
}

function pairNames(one, other) {
  const names = [one, other].map((index) => make("bdi", {}, isNumber(index) ? nameOf(entries[index]) : "not on this page"));
  return make("p", { class: "quiet" }, names[0], " | ", names[1]);
}

// Shares in per cent, angles in degrees, and sizes set against each other as a ratio.
function measureWords(measure, side) {
  const value = measure[side];
  if (measure.unit === "degrees") return `${(Math.round(value * 10) / 10 || 0).toFixed(1)}°`;
  if (side !== "difference") return measure.name === "headroom" && value < 0 ? `head cut by ${percent(-value, 1)}` : percent(value, 1);
  return measure.name === "size" ? `× ${value.toFixed(2)}` : percent(value, 1);
}

function pairLines(own, against) {
  if (own === undefined || own === null || against === undefined || against === null) return null;
  const entry = entries[own], [width, height] = entry.wh, [x, y, w, h] = entry.picture;
  if (![width, height, x, y, w, h].every(isNumber)) return null;
  const picture = draw("svg", { class: "layers", viewBox: `0 0 ${width} ${height}`, "aria-hidden": "true" });
  for (const [from, dash] of [[own, ""], [against, "dash"]]) {
    for (const [name, colour] of [["eye_line_frac", "yellow"], ["headroom_frac", "blue"]]) {
      const value = entries[from].readings[name];
      if (isNumber(value)) stroke(picture, line([[x, y + value * h], [x + w, y + value * h]]), colour, dash);
    }
    const person = entries[from].persons[0];
    if (person && isNumber(person.nose[0])) {
      const [fx, , fw] = entries[from].picture;
      let share = (person.nose[0] - fx) / fw;
      if (from !== own) share = 1 - share; // the reverse mirrors the place in the frame
      stroke(picture, line([[x + share * w, y], [x + share * w, y + h]]), "white", `${dash} faint`);
    }
  }
  return picture;
}
