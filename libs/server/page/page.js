// What is in the shop, and how each key of a visit fits. It uses the published interface and nothing else.
"use strict";

const main = document.getElementById("main");
const line = document.getElementById("line");
let me = null;
let news = null;

function element(name, text, attributes) {
  const out = document.createElement(name);
  if (text) out.textContent = text;
  for (const [key, value] of Object.entries(attributes || {})) out.setAttribute(key, value);
  return out;
}

async function ask(path, options) {
  const answer = await fetch(path, Object.assign({ headers: {} }, options));
  const body = await answer.json();
  if (answer.status === 401) await begin();
  if (!answer.ok) throw new Error(body.detail + (body.errors?.[0]?.expected ? ". Wanted: " + body.errors[0].expected : ""));
  return body;
}

function send(method, path, body) {
  const headers = { "content-type": "application/json" };
  if (me?.csrf) headers["hingeline-csrf"] = me.csrf;
  return ask(path, { method, headers, body: JSON.stringify(body) });
}

function show(...parts) {
  main.replaceChildren(...parts);
}

function trouble(error) {
  show(element("p", error.message, { class: "trouble", role: "alert" }));
}

function field(name, text, type) {
  const label = element("label", text);
  label.append(element("input", "", { name, type, required: "" }));
  return label;
}

function logIn() {
  const form = element("form");
  const heading = element("h2", "Log in");
  form.append(field("login", "Name", "text"), field("password", "Password", "password"), element("button", "Log in"));
  form.addEventListener("submit", async (event) => {
    event.preventDefault();
    const typed = new FormData(form);
    try {
      await send("POST", "/api/log-in", { login: typed.get("login"), password: typed.get("password") });
      await begin();
    } catch (error) {
      line.textContent = error.message;
    }
  });
  show(heading, form);
}

function visitLine(visit) {
  const link = element("a", "", { href: "#visit=" + visit.visit });
  link.append(element("strong", visit.title + (visit.serial ? ", " + visit.serial : "")));
  const words = [visit.state, visit.owner_name, visit.promised ? "promised " + visit.promised : "", visit.complaint];
  link.append(document.createTextNode(words.filter(Boolean).join(" \u00b7 ")));
  const item = element("li");
  item.append(link);
  return item;
}

async function visits() {
  const search = element("form", "", { role: "search" });
  const label = element("label", "Find");
  const input = element("input", "", { type: "search", name: "words" });
  label.append(input);
  search.append(label);
  const list = element("ul", "", { class: "visits" });
  const none = element("p");
  async function fill() {
    const found = await ask("/api/visits?most=200&words=" + encodeURIComponent(input.value));
    list.replaceChildren(...found.visits.map(visitLine));
    none.textContent = found.visits.length ? "" :
      input.value ? "Nothing is found by these words." :
      "No instrument is here yet. Take one in: hingeline book take-in FILE";
  }
  input.addEventListener("input", () => fill().catch(trouble));
  search.addEventListener("submit", (event) => event.preventDefault());
  show(element("h2", "In the shop"), search, none, list);
  await fill();
}

function keyCard(visit, key) {
  const card = element("section", "", { class: "key" });
  card.append(element("h3", key.name || key.id));
  if (key.problem) {
    card.append(element("p", key.problem.what, { class: "trouble" }));
    return card;
  }
  card.append(element("p", key.verdict, { class: "verdict" }), element("p", key.because));
  for (const step of key.plans?.[0]?.steps || []) card.append(element("p", step.tell));
  const path = "/api/visits/" + visit + "/drawing/" + encodeURIComponent(key.id) + "/strip";
  card.append(element("img", "", { src: path, alt: "The key " + (key.name || key.id) + " between its posts, to scale", loading: "lazy" }));
  return card;
}

async function visit(id) {
  const [whole, fit] = await Promise.all([ask("/api/visits/" + id), ask("/api/visits/" + id + "/fit")]);
  const keys = element("div", "", { class: "keys" });
  keys.append(...fit.keys.map((key) => keyCard(id, key)));
  const says = whole.visit.slip.body;
  show(element("h2", fit.title), element("p", [says.complaint, says.state].filter(Boolean).join(" \u00b7 ")), keys);
}

async function go() {
  const wanted = new URLSearchParams(location.hash.slice(1)).get("visit");
  try {
    await (wanted ? visit(wanted) : visits());
  } catch (error) {
    trouble(error);
  }
}

function listen() {
  news?.close();
  news = new EventSource("/api/news");
  let waiting = 0;
  const again = () => {
    clearTimeout(waiting);
    waiting = setTimeout(go, 300);
  };
  news.addEventListener("open", () => { line.textContent = "Live"; });
  news.addEventListener("error", () => { line.textContent = "The shop does not answer; trying again"; });
  news.addEventListener("slip", again);
  news.addEventListener("far-behind", again);
}

async function begin() {
  const answer = await fetch("/api/me");
  me = await answer.json();
  document.getElementById("who").textContent = me.alone ? "One bench" : me.name || "";
  if (!me.logged_in) {
    logIn();
    return;
  }
  listen();
  await go();
}

window.addEventListener("hashchange", () => { go().then(() => main.focus()); });
begin().catch(trouble);
