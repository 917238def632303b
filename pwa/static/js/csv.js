// Any list as a file for a spreadsheet.
import { html } from "./view.js";
import { Icon } from "./icons.js";
import { t } from "./words.js";

/** CSV saves a list: path is that of the API, what its name in the catalogue (csv.…); empty values of query are left out. */
export const CSV = ({ path, what = "list", query = {} }) => {
  const asked = new URLSearchParams(Object.entries(query).filter(([, v]) => v)).toString();
  return html`<a class="btn quiet no-print" href=${`/api/v1${path}${asked && `?${asked}`}`} download><${Icon} name="down" />${t(`csv.${what}`)}</a>`;
};
