// Judges FHIR R4 files by cardinality and required value sets of the profiles.
// Usage: node fhir_profiles.js FILE...
const {Fhir} = require('fhir'), fs = require('fs'), fhir = new Fhir();
let bad = 0;
for (const path of process.argv.slice(2)) {
  let valid = false, faults = [];
  try {
    const told = fhir.validate(JSON.parse(fs.readFileSync(path)), {errorOnUnexpected: true});
    valid = told.valid;
    faults = told.messages.filter(m => /error|fatal/.test(m.severity))
                 .map(m => m.location + ' ' + m.message);
  } catch (fault) {
    faults = [fault.message];
  }
  console.log(valid ? 'VALID' : 'INVALID', path, faults.slice(0, 3).join(' | '));
  bad |= !valid;
}
process.exit(bad);
