// A picture pasted anywhere on the page goes into the form's picture field.
"use strict";

const pictures = document.getElementById("photos");
const says = document.getElementById("paste-says");

if (pictures && says) {
  says.hidden = false;
  document.addEventListener("paste", (event) => {
    const pasted = [...(event.clipboardData?.files ?? [])].filter((file) => file.type.startsWith("image/"));
    if (!pasted.length) return;
    event.preventDefault();
    const all = new DataTransfer();
    for (const file of [...pictures.files, ...pasted]) all.items.add(file);
    pictures.files = all.files;
    says.textContent = `${all.files.length === 1 ? "1 picture is" : `${all.files.length} pictures are`} ready to be sent.`;
    says.setAttribute("role", "status");
  });
}
