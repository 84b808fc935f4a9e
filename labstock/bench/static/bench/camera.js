// Live video: the browser reads the codes itself where it can; elsewhere it sends frames until one reads.
// Where one code follows the other (data-form), the form takes the code and the camera is on again on the next page.
const camera = document.querySelector("[data-camera]");
if (camera && navigator.mediaDevices?.getUserMedia) {
  const GAP_MS = 260;    // at most four frames a second
  const WIDE = 1280;
  const view = camera.querySelector("[data-view]");
  const said = camera.querySelector("[data-said]");
  const start = camera.querySelector("[data-start]");
  const stop = camera.querySelector("[data-stop]");
  const token = document.querySelector("form[enctype] [name=csrfmiddlewaretoken]").value;
  const canvas = document.createElement("canvas");
  const WHY = {
    NotAllowedError: "This page may not use the camera: allow it in the browser’s settings, or take a photo below.",
    NotFoundError: "This device has no camera: type the code, or scan it with a handheld scanner.",
    NotReadableError: "Another program is using the camera: close it and try again.",
  };
  const form = document.getElementById(camera.dataset.form || "");
  const STAYS_ON = "camera stays on";
  let stream = null;
  let detector = null;

  const wait = (ms) => new Promise((resolve) => { setTimeout(resolve, ms); });
  const show = (isOn) => { view.hidden = stop.hidden = !isOn; start.hidden = isOn; };

  const end = () => {
    stream?.getTracks().forEach((track) => track.stop());
    stream = null;
    show(false);
  };

  const findDetector = async () => {
    if (!("BarcodeDetector" in window)) return null;
    const wanted = ["qr_code", "data_matrix"];
    const known = await window.BarcodeDetector.getSupportedFormats();
    return wanted.every((kind) => known.includes(kind)) ? new window.BarcodeDetector({ formats: wanted }) : null;
  };

  const readHere = async () => (await detector.detect(view))[0]?.rawValue || "";

  const readThere = async () => {
    const scale = Math.min(1, WIDE / view.videoWidth);
    canvas.width = Math.round(view.videoWidth * scale);
    canvas.height = Math.round(view.videoHeight * scale);
    canvas.getContext("2d").drawImage(view, 0, 0, canvas.width, canvas.height);
    const frame = await new Promise((resolve) => { canvas.toBlob(resolve, "image/jpeg", 0.8); });
    const body = new FormData();
    body.append("photo", frame, "frame.jpg");
    const answer = await fetch(camera.dataset.camera, { method: "POST", body, headers: { "X-CSRFToken": token } });
    if (answer.redirected) { location.reload(); return ""; }
    const { code, said: words } = await answer.json();
    if (words) said.textContent = words;
    return code || "";
  };

  const look = async () => {
    while (stream) {
      const began = performance.now();
      try {
        const code = view.videoWidth ? await (detector ? readHere() : readThere()) : "";
        // the label just taken is still in the picture: it is not scanned twice
        if (code && stream && !(form && code === sessionStorage.getItem(STAYS_ON))) {
          said.textContent = "Code read.";
          end();
          if (form) {
            sessionStorage.setItem(STAYS_ON, code);
            form.elements.code.value = code;
            form.requestSubmit();
            return;
          }
          location.assign(`${camera.dataset.landing}?code=${encodeURIComponent(code)}`);
          return;
        }
      } catch {
        said.textContent = "No connection to read the picture: type the code, or try again when the signal is back.";
      }
      await wait(Math.max(20, GAP_MS - (performance.now() - began)));
    }
  };

  start.addEventListener("click", async () => {
    said.textContent = "Starting the camera…";
    try {
      detector = await findDetector();
      stream = await navigator.mediaDevices.getUserMedia({ audio: false, video: { facingMode: "environment", width: { ideal: WIDE } } });
      view.srcObject = stream;
      show(true);
      await view.play();
      said.textContent = "Hold the square code in the picture.";
      await look();
    } catch (error) {
      end();
      said.textContent = WHY[error.name] || "The camera did not start: take a photo below, or type the code.";
    }
  });
  stop.addEventListener("click", () => { end(); sessionStorage.removeItem(STAYS_ON); said.textContent = "The camera is off."; });
  document.addEventListener("visibilitychange", () => { if (document.hidden) end(); });
  camera.hidden = false;
  if (form && sessionStorage.getItem(STAYS_ON)) start.click();
}
