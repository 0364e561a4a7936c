"""The trail goes to the shop over MQTT, from the last acknowledged event on."""
