// Carries one message over the channels that its argument names and prints one JSON line a report:
// what the functional tests drive. The argument is a JSON object: site, smtp, channels, message,
// limits (seconds) and stop_after_ms; all but channels may be left out.
#include <poll.h>

#include <chrono>
#include <iostream>
#include <nlohmann/json.hpp>

#include "channel/outward.h"

using namespace clutchward;
using nlohmann::json;

namespace {

ChannelSettings channel_of(const json& given) {
  ChannelSettings channel;
  if (given.contains("email")) {
    channel.email = EmailChannel{given["email"]};
    return channel;
  }
  WebhookChannel webhook;
  webhook.url = given.at("webhook");
  webhook.secret_file = given.value("secret_file", "");
  webhook.method = given.value("method", "");
  webhook.body = given.value("body", "");
  const json headers = given.value("headers", json::object());
  for (const auto& [name, value] : headers.items()) webhook.headers.emplace_back(name, value);
  channel.webhook = webhook;
  return channel;
}

SmtpSettings smtp_of(const json& given) {
  SmtpSettings smtp;
  smtp.url = given.value("url", "");
  smtp.from = given.value("from", "clutchward@saltmere.example");
  smtp.user = given.value("user", "");
  smtp.password_file = given.value("password_file", "");
  smtp.ca_file = given.value("ca_file", "");
  return smtp;
}

Notification message_of(const json& given) {
  Notification message;
  message.id = given.value("id", "20260301T021400-7.mara-1");
  message.contact = "mara";
  message.urgency = Urgency::high;
  message.first_line = given.value(
      "first_line", "TOO HOT Setter A 39.8 C rising (max 39.5) since 02:14. Open the door");
  message.message =
      given.value("message", message.first_line + "\n\nNow: 39.8 °C, rising\nLimit: 39.5 °C\n");
  message.episode = "hens-12.high.7";
  message.thread = given.value("thread", "20260301T021400-7");
  message.subject = {"setter-a", "hens-12", "high"};
  message.made_at = *parse_rfc3339("2026-03-01T02:14:05Z");
  AlarmEvent event;
  event.at = *parse_rfc3339("2026-03-01T02:14:00Z");
  event.key = message.subject;
  event.value = event.worst = 39800;
  event.limit = 39500;
  message.events.push_back(event);
  return message;
}

TimeLimits limits_of(const json& given) {
  TimeLimits limits;
  const auto read = [&given](const char* name, std::chrono::seconds& limit) {
    if (given.contains(name)) limit = std::chrono::seconds{given[name].get<int>()};
  };
  read("connect", limits.connect);
  read("total", limits.total);
  read("server_response", limits.server_response);
  read("stalled", limits.stalled);
  return limits;
}

constexpr std::array<const char*, 3> kOutcomes = {"delivered", "try_again", "failed"};

}  // namespace

int main(int argc, char** argv) {
  if (argc != 2) return 64;
  const json given = json::parse(argv[1]);
  const auto now = [] { return std::chrono::floor<Span>(std::chrono::system_clock::now()); };
  const auto begun = std::chrono::steady_clock::now();
  const auto elapsed = [begun] {
    return std::chrono::duration_cast<Span>(std::chrono::steady_clock::now() - begun).count();
  };

  Settings settings;
  settings.site = given.value("site", "Saltmere");
  settings.smtp = smtp_of(given.value("smtp", json::object()));
  for (const json& channel : given.at("channels"))
    settings.contacts["mara"].push_back(channel_of(channel));
  Outward outward(now, limits_of(given.value("limits", json::object())));
  outward.configure(settings);

  // Each channel's message has its own id: the given one, then with the channel's number.
  std::size_t open = settings.contacts["mara"].size();
  for (std::size_t index = 0; index < open; ++index) {
    Notification message = message_of(given.value("message", json::object()));
    message.channel = static_cast<int>(index);
    if (index > 0) message.id += "-" + std::to_string(index);
    outward.submit(std::move(message));
  }
  const long stop_after = given.value("stop_after_ms", 0L);
  while (open > 0) {
    const long left = stop_after == 0 ? 180'000 : stop_after - elapsed();
    pollfd waiting{outward.ready_fd(), POLLIN, 0};
    if (left <= 0 || ::poll(&waiting, 1, static_cast<int>(left)) == 0) outward.stop();
    for (const DeliveryReport& report : outward.take_reports()) {
      json line = {{"id", report.id},
                   {"outcome", kOutcomes.at(static_cast<std::size_t>(report.outcome))},
                   {"detail", report.detail},
                   {"elapsed_ms", elapsed()}};
      if (report.retry_after) line["retry_after_ms"] = report.retry_after->count();
      std::cout << line.dump() << std::endl;
      --open;
    }
  }
  return 0;
}
