// Pictures are shrunk in the page before they are sent: a third of the way on bad wifi, and it works on plain http.
// Everything here is comfort: without it the server takes the files as they are and does the same.
const SIDE = 2048, QUALITY = 0.9, ENOUGH = 900_000, MOST = 30 * 1024 * 1024;
const mb = (bytes) => bytes < 1e5 ? `${Math.ceil(bytes / 1024)} KB` : `${(bytes / 1024 / 1024).toFixed(1)} MB`;

// The day of DateTimeOriginal, which shrinking would lose: JPEG, first Exif block, read as CIPA DC-008 lays it out.
const dayTaken = async (file) => {
  const view = new DataView(await file.slice(0, 256 * 1024).arrayBuffer());
  try {
    if (view.getUint16(0) !== 0xffd8) return "";
    for (let at = 2; view.getUint8(at) === 0xff; at += 2 + view.getUint16(at + 2)) {
      if (view.getUint16(at) === 0xffe1 && view.getUint32(at + 4) === 0x45786966) return dayIn(view, at + 10);
      if (view.getUint16(at) === 0xffda) break;
    }
  } catch { /* cut short or not as it should be: it tells no day */ }
  return "";
};
const dayIn = (view, base) => {
  const little = view.getUint16(base) === 0x4949;
  const entry = (folder, wanted) => {
    const count = view.getUint16(folder, little);
    for (let n = 0, at = folder + 2; n < count; n += 1, at += 12)
      if (view.getUint16(at, little) === wanted) return base + view.getUint32(at + 8, little);
    return 0;
  };
  const exif = entry(base + view.getUint32(base + 4, little), 0x8769);
  const text = exif && entry(exif, 0x9003);
  if (!text) return "";
  const letters = Array.from({ length: 10 }, (_, n) => String.fromCharCode(view.getUint8(text + n))).join("");
  return /^(19[9]|20\d)\d:\d\d:\d\d$/.test(letters) ? letters.replaceAll(":", "-") : "";
};

// The picture at most 2048 pixels a side and upright, or the file itself where the browser cannot read it.
const shrunk = async (file) => {
  try {
    const picture = await createImageBitmap(file, { imageOrientation: "from-image" });
    const scale = Math.min(1, SIDE / Math.max(picture.width, picture.height));
    if (scale === 1 && file.size < ENOUGH) return picture.close(), file;
    const canvas = Object.assign(document.createElement("canvas"), {
      width: Math.round(picture.width * scale), height: Math.round(picture.height * scale),
    });
    const pen = canvas.getContext("2d");
    pen.fillStyle = "#fff";
    pen.fillRect(0, 0, canvas.width, canvas.height);
    pen.imageSmoothingQuality = "high";
    pen.drawImage(picture, 0, 0, canvas.width, canvas.height);
    picture.close();
    const blob = await new Promise((done) => canvas.toBlob(done, "image/jpeg", QUALITY));
    return blob && blob.size < file.size ? new File([blob], file.name, { type: "image/jpeg" }) : file;
  } catch {
    return file;
  }
};

const say = (form, words) => { form.querySelector(".progress").textContent = words; };
const rows = (form) => [...form.querySelectorAll(".picked > li")];
const today = (form) => form.elements.on.value;

// The one field that is sent holds what the rows hold, in their order.
const settle = (form) => {
  const all = new DataTransfer();
  for (const row of rows(form)) all.items.add(row.file);
  form.elements.pictures.files = all.files;
  const sum = rows(form).reduce((total, row) => total + row.file.size, 0);
  const came = rows(form).reduce((total, row) => total + row.came, 0);
  const heavy = sum > MOST;
  form.querySelector(".strong").disabled = heavy;
  const many = `${all.files.length} picture${all.files.length === 1 ? "" : "s"}`;
  const less = came > sum * 1.1 ? ` instead of ${mb(came)}` : "";
  say(form, heavy ? `Together these are ${mb(sum)}; at most ${mb(MOST)} go in one go. Leave some out and send them next.`
    : all.files.length ? `${many} ready, ${mb(sum)}${less}.` : "");
};

const shownRow = (form, file, came, day) => {
  const row = form.querySelector("template").content.firstElementChild.cloneNode(true);
  const picture = row.querySelector("img");
  picture.addEventListener("load", () => URL.revokeObjectURL(picture.src), { once: true });
  picture.addEventListener("error", () => picture.parentElement.replaceChildren(), { once: true });
  picture.src = URL.createObjectURL(file);
  row.querySelector(".file").textContent = `${file.name}, ${mb(file.size)}${day ? "; its day is from the camera" : ""}`;
  row.querySelector("[name=days]").value = day || today(form);
  row.querySelector("[name=captions]").value = form.elements.caption.value;
  row.querySelector("[data-drop] .vh").textContent = `: ${file.name}`;
  return Object.assign(row, { file, came });
};

const take = async (form, input) => {
  const most = Number(form.dataset.photos);
  const room = most - rows(form).length;
  const files = [...input.files].slice(0, room);
  const over = input.files.length - files.length;
  form.querySelector(".strong").disabled = true;
  for (const [n, file] of files.entries()) {
    say(form, `Looking at ${n + 1} of ${files.length} …`);
    const day = await dayTaken(file);
    form.querySelector(".picked").append(shownRow(form, await shrunk(file), file.size, day));
  }
  input.value = "";
  settle(form);
  if (over > 0) say(form, `${form.querySelector(".progress").textContent} ${over} more did not fit: at most ${most} at once.`);
};

const ours = (target) => target.closest?.("form[data-photos]");
addEventListener("change", ({ target }) => {
  if (ours(target) && target.type === "file" && target.files.length) take(ours(target), target);
});
addEventListener("click", ({ target }) => {
  if (!ours(target) || !target.closest("[data-drop]")) return;
  const form = ours(target);
  target.closest("li").remove();
  settle(form);
  form.elements.pictures.focus();
});
addEventListener("htmx:xhr:progress", ({ target, detail: { loaded, total } }) => {
  const form = ours(target);
  if (!form || !total) return;
  say(form, loaded < total ? `Sending: ${mb(loaded)} of ${mb(total)}.` : "Sent. The server looks at each and stores it …");
});
addEventListener("htmx:sendError", ({ target }) => { if (ours(target)) settle(ours(target)); });
