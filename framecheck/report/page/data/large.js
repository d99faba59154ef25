// One frame, large, with all that was read of it; steps go through what the filter shows.
const large = find("large");
let current = -1, adviceShown = 0;
const onLook = [];

function openLarge(index, { quiet = false } = {}) {
  current = index;
  adviceShown = 0;
  const entry = entries[index];
  if (!large.open) large.showModal();
  if (!large.contains(document.activeElement) || document.activeElement === large) find("large-title").focus({ preventScroll: true });
  find("large-title").replaceChildren(...(entry.size_abbr ? [make("b", {}, entry.size_abbr), " "] : []), entry.size || entry.shot_type || "not named");
  const place = shown.indexOf(index);
  find("where").textContent = place < 0 ? "outside the filter" : `${place + 1} of ${shown.length}`;
  find("back").disabled = place <= 0;
  find("next").disabled = place >= shown.length - 1;
  find("detail").replaceChildren(...detailsOf(entry));
  onLook.forEach((call) => call(entry));
  drawStage();
  if (!quiet && location.hash !== `#${entry.key}`) history.replaceState(null, "", `#${entry.key}`);
  say(`${nameOf(entry)}, ${entry.size || "not named"}`);
}

function drawStage() {
  const stage = find("stage"), entry = entries[current];
  const image = cardOf(current).querySelector("img");
  const box = { width: stage.clientWidth, height: stage.clientHeight || window.innerHeight * 0.5 };
  const [fw, fh] = entry.wh.every(isNumber) ? entry.wh : [16, 9];
  const view = viewOf(entry, fw, fh);
  const scale = Math.min(box.width / view.w, box.height / view.h);
  const frame = make("div", { class: "frame" });
  frame.style.transform = `translate(${(fw / 2 - view.x - view.w / 2) * scale}px, ${(fh / 2 - view.y - view.h / 2) * scale}px)`;
  frame.style.width = `${fw * scale}px`;
  frame.style.height = `${fh * scale}px`;
  frame.append(image ? make("img", { src: image.src, alt: altOf(entry) })
    : make("span", { class: "blank" }, cardOf(current).querySelector(".blank").textContent));
  const layers = layersOf(entry, { px: 1 / scale, advice: adviceShown });
  if (layers) frame.append(layers);
  stage.replaceChildren(frame);
}

// What has to be seen: the picture, and the frame that the advice proposes where it is larger.
function viewOf(entry, width, height) {
  const said = layerIsOn(6) && entry.advice.filter((piece) => piece.box)[adviceShown];
  if (!said) return { x: 0, y: 0, w: width, h: height };
  const [x, y, w, h] = said.box, rim = Math.max(width, height) * 0.004;
  const left = Math.min(0, x - rim), top = Math.min(0, y - rim);
  return { x: left, y: top, w: Math.max(width, x + w + rim) - left, h: Math.max(height, y + h + rim) - top };
}

const altOf = (entry) => `${entry.size || "frame"}, ${count(entry.people || 0, "person", "people")}${entry.place ? `, cut at ${entry.place}` : ""}`;

function step(by) {
  const place = shown.indexOf(current);
  const next = shown[by === -Infinity ? 0 : by === Infinity ? shown.length - 1 : place + by];
  if (next !== undefined) openLarge(next);
}

function closeLarge() {
  if (large.open) large.close();
}

const factNames = [
  ["crop_level", "bottom edge cuts at", (value) => value.toFixed(3)],
  ["top_level", "top edge at", (value) => value.toFixed(3)],
  ["headroom_frac", "headroom", (value) => airWords(value, 1)],
  ["eye_line_frac", "eyes under the top", (value) => (value < 0 ? `${percent(-value, 1)} over the edge` : percent(value, 1))],
  ["look_room_frac", "looking room", (value) => `${value.toFixed(2)} : 1`],
];

function detailsOf(entry) {
  const facts = [["file", fileOf(entry).name]];
  if (!entry.still) facts.push(["shot", `${entry.shot}, ${entry.start_timecode} to ${entry.end_timecode}, ${seconds(entry.length)}`]);
  if (entry.timecode) facts.push(["frame", entry.timecode]);
  if (isNumber(entry.sure)) facts.push(["how sure", `${percent(entry.sure)}${entry.size_second ? `, else ${entry.size_second}` : ""}`]);
  if (entry.size_change) facts.push(["in the shot", entry.size_change]);
  facts.push(["people", `${entry.people ?? "not known"}, ${entry.shot_type || "type not known"}`]);
  for (const [name, title, text] of factNames) {
    const value = entry.readings[name];
    if (value === null) continue;
    const more = name === "crop_level" && isNumber(value) ? `${isNumber(entry.crop_error) ? ` ± ${entry.crop_error.toFixed(2)}` : ""}, ${entry.place}` : "";
    facts.push([title, isNumber(value) ? text(value) + more : value]);
  }
  const subject = entry.persons[0];
  if (subject) facts.push(["faces", [subject.facing, isNumber(subject.head_yaw_deg) ? `head ${Math.abs(subject.head_yaw_deg).toFixed(0)}° ${subject.head_yaw_deg >= 0 ? "right" : "left"}` : "", subject.posture].filter(Boolean).join(", ")]);
  if (entry.confirmed) facts.push(["seen by a person", entry.confirmed]);
  const parts = [make("dl", { class: "facts" }, ...facts.flatMap(([title, text]) => [make("dt", {}, title), make("dd", {}, make("bdi", {}, text))]))];
  if (entry.flags.length) parts.push(make("h3", {}, "Flags"), flagList(entry));
  if (entry.advice.length) parts.push(make("h3", {}, "Advice"), adviceList(entry));
  if (entry.persons.length > 1) parts.push(make("h3", {}, "Everybody"), peopleTable(entry));
  if (entry.choice || entry.notes) parts.push(make("h3", {}, "Notes"), make("p", { class: "quiet" }, [entry.choice, entry.notes].filter(Boolean).join("; ")));
  parts.push(make("p", { class: "keys" }, make("a", { href: `${location.href.split("#")[0]}#${entry.key}` }, "Link to this frame"), " · ",
    ...keyWords([["←", "before"], ["→", "next"], ["Home", "first"], ["End", "last"], ["⇧1", "to"], ["⇧7", "layers"], ["Esc", "close"]])));
  return parts;
}

const keyWords = (pairs) => pairs.flatMap(([key, words]) => [make("kbd", {}, key), ` ${words} `]);

function flagList(entry) {
  const said = entry.drawn.length ? entry.flags.map((flag) => ({ ...entry.drawn.find((one) => one.part === flag.part && one.person === flag.person), ...dropEmpty(flag) })) : entry.flags;
  return make("ul", { class: "flags" }, ...said.map((flag) => make("li", { class: flag.severity || "named" }, flagWords(flag), flag.severity ? `, ${flag.severity}` : "")));
}

const dropEmpty = (flag) => Object.fromEntries(Object.entries(flag).filter(([, value]) => value !== "" && value !== null));

function adviceList(entry) {
  let drawable = -1;
  return make("div", { class: "advice" }, ...entry.advice.map((piece) => {
    if (!piece.box) return make("p", {}, piece.text);
    drawable += 1;
    const own = drawable;
    const button = make("button", { type: "button", "aria-pressed": String(own === adviceShown) }, piece.text);
    button.addEventListener("click", () => {
      adviceShown = own;
      for (const other of button.parentElement.querySelectorAll("button")) other.setAttribute("aria-pressed", String(other === button));
      setLayer(6, true);
      drawStage();
    });
    return button;
  }));
}

function peopleTable(entry) {
  const head = ["no.", "cut", "headroom", "faces", "role"];
  return make("table", {}, make("thead", {}, make("tr", {}, ...head.map((word) => make("th", { scope: "col" }, word)))),
    make("tbody", {}, ...entry.persons.map((person) => make("tr", {}, make("td", {}, String(person.n)),
      make("td", { class: "num" }, isNumber(person.crop_level) ? person.crop_level.toFixed(2) : ""),
      make("td", { class: "num" }, isNumber(person.headroom_frac) ? shortAir(person.headroom_frac) : ""),
      make("td", {}, person.facing), make("td", {}, person.role)))));
}

function lookKeys(event) {
  if (event.ctrlKey || event.metaKey || event.altKey || event.target.matches("input[type=search], textarea, select")) return;
  const digit = event.shiftKey && /^Digit[1-7]$/.test(event.code) ? Number(event.code.slice(5)) - 1 : -1;
  if (digit >= 0) { toggleLayer(digit); event.preventDefault(); return; }
  if (!large.open) return;
  const moves = { ArrowLeft: -1, ArrowRight: 1, PageUp: -10, PageDown: 10, Home: -Infinity, End: Infinity };
  if (event.key in moves && !event.shiftKey) {
    const place = shown.indexOf(current), by = moves[event.key];
    step(Number.isFinite(by) ? clamp(place + by, 0, shown.length - 1) - place : by);
    event.preventDefault();
  } else if (onKey) onKey(event);
}
let onKey = null;

function openFromAddress() {
  const key = decodeURIComponent(location.hash.slice(1));
  if (byKey.has(key)) openLarge(byKey.get(key), { quiet: true });
}

function prepareLarge() {
  sheet.addEventListener("click", (event) => {
    const link = event.target.closest("a.open");
    if (!link || event.ctrlKey || event.metaKey || event.shiftKey) return;
    event.preventDefault();
    openLarge(Number(link.closest(".card").dataset.n));
  });
  find("back").addEventListener("click", () => step(-1));
  find("next").addEventListener("click", () => step(1));
  find("close").addEventListener("click", closeLarge);
  large.addEventListener("close", () => {
    history.replaceState(null, "", location.pathname + location.search);
    const card = cardOf(current);
    if (card && waiting.includes(card)) putOutAll(); // farther down than the sheet goes yet
    if (card && card.isConnected) { card.scrollIntoView({ block: "nearest" }); card.querySelector("a.open").focus(); }
  });
  document.addEventListener("keydown", lookKeys);
  window.addEventListener("hashchange", openFromAddress);
  window.addEventListener("resize", () => { if (large.open) drawStage(); });
}
