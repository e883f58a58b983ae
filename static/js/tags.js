// data-tags on a field of tags parted by commas: its list offers known tags for the one being typed.

document.addEventListener("input", (event) => {
  const field = event.target;
  if (!field.matches?.("[data-tags]") || !field.list) return;
  const options = [...field.list.options];
  options.forEach((option) => (option.dataset.tag ??= option.value));
  const typed = field.value.split(",").slice(0, -1).map((tag) => tag.trim()).filter(Boolean);
  const before = typed.length ? `${typed.join(", ")}, ` : "";
  options.forEach((option) => (option.value = typed.includes(option.dataset.tag) ? "" : before + option.dataset.tag));
});
