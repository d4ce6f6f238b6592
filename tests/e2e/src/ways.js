// Ways in which a script might reach another machine, but for those named in args[0]. Each says whether it got through; the
// body of an async function.
const at = (name) => `http://${name}.canary.invalid/`;
const fail = (make) => new Promise((resolve) => {
  const element = make();
  element.onload = () => resolve("answered");
  element.onerror = () => resolve("refused");
  document.head.append(element);
});
const make = (tag, props) => () => Object.assign(document.createElement(tag), props);
const attempt = async (run) => { try { return await run(); } catch { return "refused"; } };
const ways = {
  fetch: () => fetch(at("fetch"), { mode: "no-cors" }).then(() => "answered"),
  xhr: () => new Promise((resolve) => {
    const request = new XMLHttpRequest();
    request.onload = () => resolve("answered");
    request.onerror = () => resolve("refused");
    request.open("GET", at("xhr"));
    request.send();
  }),
  beacon: () => (navigator.sendBeacon(at("beacon"), "x"), "refused"),
  websocket: () => new Promise((resolve) => {
    const socket = new WebSocket("ws://socket.canary.invalid/");
    socket.onopen = () => resolve("answered");
    socket.onerror = () => resolve("refused");
  }),
  events: () => new Promise((resolve) => {
    const source = new EventSource(at("events"));
    source.onopen = () => resolve("answered");
    source.onerror = () => { source.close(); resolve("refused"); };
  }),
  image: () => fail(make("img", { src: at("image") })),
  style: () => fail(make("link", { rel: "stylesheet", href: at("style") })),
  prefetch: () => (document.head.append(make("link", { rel: "prefetch", href: at("prefetch") })()), "refused"),
  script: () => fail(make("script", { src: at("script") })),
  frame: () => (document.body.append(make("iframe", { src: at("frame") })()), "refused"),
  media: () => fail(make("audio", { src: at("media"), preload: "auto" })),
  worker: () => (new Worker(at("worker")), "answered"),
  evaluate: () => (0, eval)(`fetch("${at("evaluate")}").then(() => "answered")`),
  form: () => {
    const form = make("form", { action: at("form"), method: "post", target: "_self" })();
    document.body.append(form);
    form.submit();
    return "refused";
  },
};
const ends = {};
for (const [name, run] of Object.entries(ways)) {
  if (!args[0].includes(name)) ends[name] = await attempt(run);
}
ends.in_worker = await e2e.tell(e2e.session(), { reach: at("inside") });
return ends;
