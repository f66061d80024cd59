// `clutchward humidity`: wet bulb, relative humidity and dew point from one another. Reaches no
// daemon.
#include <sysexits.h>

#include <iostream>

#include "incubation/humidity_report.h"
#include "talk.h"
#include "verb.h"

namespace clutchward {
namespace {

struct HumidityArguments {
  HumidityQuestion question;
  bool fahrenheit = false;
  bool json = false;
};

int run_humidity(const HumidityArguments& arguments) {
  HumidityQuestion question = arguments.question;
  question.unit = arguments.fahrenheit ? TemperatureUnit::fahrenheit : TemperatureUnit::celsius;
  const auto text = arguments.json ? humidity_json(question) : humidity_text(question);
  if (!text) return complain(text.why(), EX_DATAERR);
  std::cout << *text << (arguments.json ? "\n" : "");
  return EX_OK;
}

}  // namespace

void add_humidity(CLI::App& app, Run& run) {
  auto* verb = app.add_subcommand("humidity", "Wet bulb, relative humidity and dew point");
  auto arguments = std::make_shared<HumidityArguments>();
  HumidityQuestion& question = arguments->question;
  verb->add_option("--dry", question.dry, "the dry bulb's temperature")->required();
  verb->add_option("--wet", question.wet, "the wet bulb's temperature");
  verb->add_option("--humidity", question.relative_humidity, "relative humidity in percent");
  verb->add_option("--dew-point", question.dew_point, "the dew point");
  verb->add_option("--altitude", question.altitude_m, "metres above the sea");
  verb->add_option("--coefficient", question.coefficient_per_k,
                   "of the psychrometer, per kelvin; a well ventilated one where left out");
  verb->add_flag("--fahrenheit", arguments->fahrenheit, "temperatures are in Fahrenheit");
  verb->add_flag("--json", arguments->json, "print JSON for programs");
  verb->callback([&run, arguments] { run = [arguments] { return run_humidity(*arguments); }; });
}

}  // namespace clutchward
